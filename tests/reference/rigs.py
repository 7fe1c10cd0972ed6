"""Seeded random rigs of every kind, as the blocks that an author writes and as plain data.

A rig is a dict: mass, climber (None in a hung rig), space (2 or 3 coordinates), points (name to
place, hangs, friction/turns or efficiency, grips), lines (name to run, length, limit, adjust),
feet. Places are near those of a real tree: metres.
"""

import numpy as np

# Ground above every anchor: kinds that are not about zones spend no time on them.
NO_ZONE_M = 20.0


def toml_place(place):
    return "[" + ", ".join(repr(float(v)) for v in place) + "]"


def block(rig):
    """The rig as a fenced block."""
    out = [f"```rig {rig['name']}", "", "[climber]", f'mass = "{rig["mass"]!r} kg"']
    if rig["climber"] is not None:
        out.append(f"at = {toml_place(rig['climber'])}")
    if rig.get("com"):
        out.append(f"com = {toml_place(rig['com'])}")
    if rig.get("feet"):
        feet = rig["feet"]
        out += ["[feet]", f"at = {toml_place(feet['at'])}", f"normal = {toml_place(feet['normal'])}"]
        out.append(f"friction = {feet['friction']!r}")
    for name, point in rig["points"].items():
        out.append(f"[point.{name}]")
        if point.get("at") is not None:
            out.append(f"at = {toml_place(point['at'])}")
        if point.get("hangs"):
            out.append("hangs = true")
        if "efficiency" in point:
            out += ['over = "pulley"', f"efficiency = {point['efficiency']!r}"]
        if "friction" in point:
            out += ['over = "limb"', f"friction = {point['friction']!r}"]
            if point.get("turns"):
                out.append(f"turns = {point['turns']!r}")
        if point.get("grips"):
            out.append("grips = [" + ", ".join(f'"{g}"' for g in point["grips"]) + "]")
    for name, line in rig["lines"].items():
        out += [f"[line.{name}]", "run = [" + ", ".join(f'"{n}"' for n in line["run"]) + "]"]
        if "length" in line:
            out.append("length = [" + ", ".join(f'"{v!r} m"' for v in line["length"]) + "]")
        if "limit" in line:
            out.append(f'limit = "{line["limit"]!r} N"')
        if "adjust" in line:
            out.append(f'adjust = "{line["adjust"][0]!r}..{line["adjust"][1]!r} m"')
    out += ["[tree]", f"ground = {rig.get('ground', NO_ZONE_M)!r}", "```", ""]
    return "\n".join(out)


class Maker:
    """Random parts of a rig; the climber is near the origin."""

    def __init__(self, kind, seed):
        self.random = np.random.default_rng([sum(map(ord, kind)), seed])
        self.rig = {
            "name": f"{kind}-{seed}",
            "kind": kind,
            "mass": self.within(50, 120),
            "climber": (0.0, 0.0),
            "space": 2,
            "points": {},
            "lines": {},
        }

    def within(self, low, high):
        return round(float(self.random.uniform(low, high)), 6)

    def above(self, side):
        return (side * self.within(0.2, 5), self.within(1, 9))

    def above_in_space(self, turn):
        turn += self.within(-0.6, 0.6)
        out = self.within(0.5, 5)
        return (round(out * np.cos(turn), 6), round(out * np.sin(turn), 6), self.within(1, 9))

    def point(self, name, at=None, **more):
        self.rig["points"][name] = {"at": at, **more}

    def line(self, name, *run, **more):
        self.rig["lines"][name] = {"run": run, **more}


def straight(m):
    m.point("left", m.above(-1))
    m.point("right", m.above(1))
    m.line("port", "bridge", "left")
    m.line("starboard", "centre", "right")
    if m.random.random() < 0.7:
        m.point("third", (m.within(-4, 4), m.within(-1, 8)))
        m.line("spare", "bridge", "third")


def friction(m):
    m.point("top", m.above(-1), efficiency=m.within(0.6, 1))
    m.point("bend", m.above(1), friction=m.within(0, 0.6), turns=int(m.random.integers(0, 3)))
    m.point("base", (m.within(-3, 3), m.within(-4, 0)))
    m.line("main", "bridge", "top", "bridge")
    m.line("second", "centre", "bend", "base")


def loop(m):
    m.point("left", m.above(-1), friction=m.within(0.05, 0.7))
    m.point("right", m.above(1), friction=m.within(0.05, 0.7))
    m.line("loop", "bridge", "left", "right", "bridge")


def feet(m):
    m.rig["com"] = (m.within(-0.05, 0.15), m.within(0, 0.2))
    m.rig["feet"] = {
        "at": (m.within(-0.7, -0.1), m.within(-1, -0.5)),
        "normal": (1.0, m.within(-0.3, 1)),
        "friction": m.within(0.2, 4),
    }
    m.point("behind", (m.within(-1.2, -0.6), m.within(-0.2, 1)), friction=m.within(0, 0.4))
    m.point("top", m.above(1 if m.random.random() < 0.5 else -1))
    m.line("strop", "front-left", "behind", "front-right")
    m.line("main", "bridge", "top")


def space(m):
    m.rig.update(space=3, climber=(0.0, 0.0, 0.0))
    for i in range(int(m.random.integers(3, 6))):
        m.point(f"p{i}", m.above_in_space(2.1 * i))
        m.line(f"l{i}", "bridge", f"p{i}")


def space_friction(m):
    m.rig.update(space=3, climber=(0.0, 0.0, 0.0))
    m.point("top", m.above_in_space(0), efficiency=m.within(0.6, 1))
    m.point("bend", m.above_in_space(2.1), friction=m.within(0, 0.5))
    m.point("base", (m.within(-3, 3), m.within(-3, 3), -3.0))
    m.point("knee", m.above_in_space(4.2))
    m.line("main", "bridge", "top", "bridge")
    m.line("second", "centre", "bend", "base")
    m.line("third", "bridge", "knee")


def apart(a, b):
    return float(np.linalg.norm(np.subtract(a, b)))


def ring(m):
    m.rig["climber"] = None
    top, limb = m.above(-1), m.above(1)
    m.point("top", top)
    m.point("limb", limb)
    m.point("ring", hangs=True, friction=m.within(0, 0.4))
    whole = apart(top, limb)
    m.line("main", "bridge", "ring", "top", length=[whole + m.within(0.5, 4)])
    m.line("sling", "ring", "limb", length=[whole * m.within(0.2, 0.9)])


def grip(m):
    m.rig.update(space=3, climber=None)
    a, c = m.above_in_space(0), m.above_in_space(2.6)
    m.point("a", a)
    m.point("c", c)
    m.point("top", m.above_in_space(4.5), efficiency=m.within(0.6, 1))
    m.point("grip", hangs=True, grips=["across"])
    whole, share = apart(a, c) * m.within(1.02, 1.4), m.within(0.3, 0.7)
    m.line("across", "a", "grip", "c", length=[whole * share, whole * (1 - share)])
    m.line("tether", "bridge", "grip", length=[m.within(0.3, 2)])
    m.line("main", "bridge", "top", "bridge", length=[2 * m.within(6, 14)])


def mapped(m):
    """Above the ground at 0, with limits, some with working ranges or a third line."""
    left, right = (m.within(-3, -0.5), m.within(6, 9)), (m.within(2, 5), m.within(5, 9))
    m.rig.update(climber=(0.5, 3.0), ground=0.0)
    m.point("left", left, efficiency=m.within(0.7, 1))
    m.point("right", right)
    far = {"adjust": (0.5, m.within(5, 8))} if m.random.random() < 0.5 else {}
    m.line("main", "bridge", "left", "bridge", limit=m.within(400, 1500))
    m.line("second", "centre", "right", limit=m.within(500, 1200), **far)
    if m.random.random() < 0.3:
        m.point("third", (m.within(-2, 4), m.within(8, 10)))
        m.line("third", "bridge", "third", limit=m.within(300, 900))


KINDS = {
    straight: 150,
    friction: 150,
    loop: 150,
    feet: 150,
    space: 120,
    space_friction: 120,
    ring: 120,
    grip: 100,
    mapped: 24,
}


def make(kind, seed):
    maker = Maker(kind.__name__.replace("_", "-"), seed)
    kind(maker)
    return maker.rig
