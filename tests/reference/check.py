"""Checks the numbers that ropeleaf prints against SciPy.

rigs.py -> a pack of random rigs -> `ropeleaf statics --format json` -> compared with
  holds, ranges      linear programs (linprog)
  nominal pulls      least-squares programs by non-negative least squares (nnls)
  the push needed    nnls, where no line passes anything
  hung rests, losses minimisation (minimize, SLSQP)
  swings             an integrated pendulum (solve_ivp)
  zones              a map that asks for the pulls at every place

Nothing of the program is used but what it prints: one variable a span, conditions as the model
states them.
"""

import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import linprog, minimize, nnls

from rigs import KINDS, block, make

G = 9.80665
ATTACHMENTS = {"bridge", "centre", "front-left", "front-right", "side-left", "side-right", "rear"}

# Largest difference over the larger of the weight and the value; for places, metres over metres.
TOLERANCE = {
    "pull": 1e-6,
    "range": 1e-6,
    "feet": 1e-6,
    "push": 1e-6,
    "residual": 1e-9,
    "rest": 1e-6,
    "loss rest": 1e-6,
    "swing speed": 1e-6,
    "swing pull": 1e-6,
    "zone area": 0.01,
}
# A rig that a 1e-6 of the weight makes hold, or stops holding, is too near the edge to compare.
EDGE = 1e-6


class Tally:
    def __init__(self):
        self.worst, self.count, self.failed = {}, {}, []

    def note(self, kind, what, got, want, scale, name):
        off = float(np.max(np.abs(np.subtract(got, want)))) / scale
        key = (kind, what)
        self.count[key] = self.count.get(key, 0) + 1
        self.worst[key] = max(self.worst.get(key, 0.0), off)
        if not off <= TOLERANCE[what]:
            self.failed.append(f"{name} {what}: {got}, want {want}")

    def same(self, kind, what, got, want, name):
        self.count[(kind, what)] = self.count.get((kind, what), 0) + 1
        if got != want:
            self.failed.append(f"{name} {what}: {got}, want {want}")


def spans_of(rig):
    """(line, from, to) for every span; attachments are one place, 'harness'."""
    place = lambda node: "harness" if node in ATTACHMENTS else node
    for name, line in rig["lines"].items():
        run = [place(n) for n in line["run"]]
        yield from ((name, a, b) for a, b in zip(run, run[1:]))


def conditions(rig, places, friction=True):
    """A·x = b and G·x >= 0 over the pulls and, with feet on, the push; everything over the weight."""
    spans = list(spans_of(rig))
    axes = rig["space"]
    feet = rig.get("feet")
    n = len(spans) + (2 if feet else 0)
    free = ["harness"] + [p for p, v in rig["points"].items() if v.get("hangs")]
    rows, right = [], []
    for spot in free:
        for axis in range(axes):
            row = np.zeros(n)
            for i, (_, a, b) in enumerate(spans):
                unit = np.subtract(places[b], places[a])
                unit = unit / np.linalg.norm(unit)
                row[i] += unit[axis] * ((a == spot) - (b == spot))
            if feet and spot == "harness":
                row[len(spans) + axis] = 1
            rows.append(row)
            right.append(1.0 if spot == "harness" and axis == axes - 1 else 0.0)
    bounds = []
    for i in range(1, len(spans)):
        (line, a, here), (same, again, b) = spans[i - 1], spans[i]
        if line != same or here != again or here == "harness":
            continue
        point = rig["points"][here]
        if line in point.get("grips", []):
            continue
        u, v = np.subtract(places[a], places[here]), np.subtract(places[b], places[here])
        cos = u @ v / np.linalg.norm(u) / np.linalg.norm(v)
        wrap = math.pi - math.acos(max(-1.0, min(1.0, cos)))
        if not friction:
            r = 1.0
        elif "efficiency" in point:
            r = point["efficiency"] ** (-wrap / math.pi)
        else:
            r = math.exp(point.get("friction", 0.0) * (wrap + 2 * math.pi * point.get("turns", 0)))
        for more, less in ((i - 1, i), (i, i - 1)):
            row = np.zeros(n)
            row[less], row[more] = r, -1.0
            bounds.append(row)
    for i in range(len(spans)):
        bounds.append(np.eye(n)[i])
    if feet:
        normal = np.array(feet["normal"]) / np.linalg.norm(feet["normal"])
        along = np.array([-normal[1], normal[0]])
        for sign in (1, -1):
            row = np.zeros(n)
            row[len(spans) :] = feet["friction"] * normal + sign * along
            bounds.append(row)
        arm = np.subtract(feet["at"], places["harness"])
        row = np.zeros(n)
        row[len(spans) :] = (-arm[1], arm[0])
        rows.append(row)
        right.append(rig.get("com", (0, 0.1))[0])
    return np.array(rows), np.array(right), np.array(bounds), len(spans)


def shortest(a, b, g, count):
    """Least sum of squares of the first `count` with a·x = b, g·x >= 0 (nnls on the dual)."""
    n = a.shape[1]
    u, s, vt = np.linalg.svd(a)
    rank = int((s > 1e-11).sum())
    x0 = vt[:rank].T @ ((u.T @ b)[:rank] / s[:rank])
    if np.abs(a @ x0 - b).max() > 1e-9:
        return None
    null = vt[rank:].T
    if null.shape[1] == 0:
        return x0 if (g @ x0).min() > -1e-9 else None
    part = null[:count]
    centre = -np.linalg.lstsq(part, x0[:count], rcond=None)[0]
    q, r = np.linalg.qr(part)
    if np.abs(np.diag(r)).min() < 1e-9:
        return None
    h = -(g @ (x0 + null @ centre))
    gz = g @ null @ np.linalg.inv(r)
    e = np.vstack([gz.T, h])
    f = np.zeros(e.shape[0])
    f[-1] = 1.0
    y, _ = nnls(e, f, maxiter=1000)
    residual = e @ y - f
    if np.linalg.norm(residual) < 1e-9:
        return None
    z = -residual[:-1] / residual[-1]
    return x0 + null @ (centre + np.linalg.inv(r) @ z)


def extreme(a, b, g, i, sign):
    cost = np.zeros(a.shape[1])
    cost[i] = sign
    found = linprog(
        cost, A_ub=-g, b_ub=np.zeros(len(g)), A_eq=a, b_eq=b, bounds=(None, None), method="highs",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    return found


def slack_of_holding(a, b, g):
    """Least sum of the misses of the balance: 0 where the rig holds."""
    m, n = a.shape
    cost = np.concatenate([np.zeros(n), np.ones(2 * m)])
    found = linprog(
        cost,
        A_ub=np.hstack([-g, np.zeros((len(g), 2 * m))]),
        b_ub=np.zeros(len(g)),
        A_eq=np.hstack([a, np.eye(m), -np.eye(m)]),
        b_eq=b,
        bounds=[(None, None)] * n + [(0, None)] * (2 * m),
        method="highs",
    )
    return found.fun


def check_held(rig, answer, places, tally, kind):
    name, weight = rig["name"], answer["climber"]["weight_kn"]
    a, b, g, count = conditions(rig, places)
    miss = slack_of_holding(a, b, g)
    if not answer["holds"]:
        if 0 < miss < EDGE:
            return
        tally.same(kind, "holds", False, bool(miss < EDGE), name)
        if not rig.get("feet") and all(len(l["run"]) == 2 for l in rig["lines"].values()):
            pulls, _ = nnls(a, b)
            push = (b - a @ pulls) * weight
            tally.note(kind, "push", answer["push_needed_kn"], push, weight, name)
        return
    tally.same(kind, "holds", True, bool(miss < EDGE), name)
    got = np.array([s["pull_kn"] for s in answer["spans"]]) / weight
    x = got
    if rig.get("feet"):
        x = np.concatenate([got, np.array(answer["feet"]["push_kn"]) / weight])
    tally.note(kind, "residual", a @ x, b, 1.0, name)
    tally.note(kind, "residual", np.minimum(g @ x, 0), np.zeros(len(g)), 1.0, name)
    free = conditions(rig, places, friction=False)
    best = shortest(*free)
    if (best is None) != answer["needs_friction"]:
        # Only a rig at the very edge may be judged otherwise.
        tally.same(kind, "friction", True, slack_of_holding(*free[:3]) < EDGE, name)
    if answer["needs_friction"]:
        best = shortest(a, b, g, count)
    if best is not None:
        scale = max(1.0, np.abs(best).max())
        tally.note(kind, "pull", got, best[:count], scale, name)
        if rig.get("feet"):
            tally.note(kind, "feet", x[count:], best[count:], scale, name)
    for i, span in enumerate(answer["spans"]):
        for sign, key in ((1, "pull_low_kn"), (-1, "pull_high_kn")):
            found = extreme(a, b, g, i, sign)
            if found.status == 3 or (found.status == 4 and span[key] is None):
                tally.same(kind, "unbounded", span[key], None, name)
            elif found.status == 0:
                want = sign * found.fun
                if span[key] is None:
                    tally.failed.append(f"{name} {key}: unbounded, want {want}")
                    continue
                tally.note(kind, "range", span[key] / weight, want, max(1.0, want), name)


def parts_of(rig, lengths=None):
    """(line, spans, length) between grips; lengths as given, else straight at the places."""
    for name, line in rig["lines"].items():
        spans = [s for s in spans_of(rig) if s[0] == name]
        parts = [[spans[0]]]
        for span in spans[1:]:
            if name in rig["points"].get(span[1], {}).get("grips", []):
                parts.append([])
            parts[-1].append(span)
        for k, part in enumerate(parts):
            if lengths is None:
                yield name, part, line["length"][k]
            else:
                yield name, part, sum(np.linalg.norm(np.subtract(lengths[s[2]], lengths[s[1]])) for s in part)


def hung(rig, parts, places, start):
    """The lowest harness point; places of the free spots by minimisation from near `start`."""
    free = ["harness"] + [p for p, v in rig["points"].items() if v.get("hangs")]
    free = [f for f in free if any(f in (s[1], s[2]) for _, spans, _ in parts for s in spans)]
    dim = rig["space"]

    def unpack(x):
        found = dict(places)
        found.update({f: x[k * dim : (k + 1) * dim] for k, f in enumerate(free)})
        return found

    def slack(x):
        at = unpack(x)
        return np.array(
            [length - sum(np.linalg.norm(at[b] - at[a]) for _, a, b in spans) for _, spans, length in parts]
        )

    def slope(x):
        at = unpack(x)
        rows = np.zeros((len(parts), len(x)))
        for row, (_, spans, _) in zip(rows, parts):
            for _, a, b in spans:
                unit = at[b] - at[a]
                unit = unit / max(np.linalg.norm(unit), 1e-12)
                for spot, sign in ((a, 1), (b, -1)):
                    if spot in free:
                        k = free.index(spot) * dim
                        row[k : k + dim] += sign * unit
        return rows

    down = np.zeros(len(free) * dim)
    down[dim - 1] = 1.0
    best, good = None, 0
    x = np.concatenate([np.asarray(start[f], float) for f in free])
    for jolt in (0.0, 1e-3, 1e-2, 0.1):
        kick = jolt * np.sin(np.arange(1, len(x) + 1))
        found = minimize(
            lambda v: v[dim - 1], x + kick, jac=lambda v: down, method="SLSQP",
            constraints={"type": "ineq", "fun": slack, "jac": slope},
            options={"ftol": 1e-15, "maxiter": 500},
        )
        if slack(found.x).min() > -1e-8:
            good += 1
            if best is None or found.x[dim - 1] < best[dim - 1]:
                best = found.x
        if good == 2:  # the problem is convex: a second start is a check of the method only
            break
    return None if best is None else best[:dim]


def check_loss(rig, answer, places, tally, kind):
    weight, name = answer["climber"]["weight_kn"], rig["name"]
    all_parts = list(parts_of(rig, None if rig["climber"] is None else places))
    for line, loss in answer["loss"].items():
        parts = [p for p in all_parts if p[0] != line]
        if not loss["held"]:
            continue
        start = {k: np.asarray(v, float) for k, v in places.items()}
        rest = hung(rig, parts, start, start)
        if rest is None:
            continue
        at = np.asarray(places["harness"], float)
        # A free-hanging climber whom no taut line stops comes to rest lower; level moves are none.
        drop = at[-1] - rest[-1]
        tally.note(kind, "loss rest", loss["drop_m"], max(drop, 0.0), max(1.0, drop), name)
        single = len(parts) == 1 and len(parts[0][1]) == 1
        if single and loss["pull_kn"] is not None and loss["drop_m"] > 1e-3:
            (_, ((_, a, b),), length) = parts[0]
            pivot = np.asarray(places[b if a == "harness" else a], float)
            reach = at - pivot
            theta = math.atan2(np.linalg.norm(reach[:-1]), -reach[-1])
            foot = lambda t, y: y[0]
            foot.terminal = True
            swing = solve_ivp(
                lambda t, y: [y[1], -G / length * math.sin(y[0])], (0, 60), [theta, 0.0],
                events=foot, rtol=1e-11, atol=1e-12, method="DOP853",
            )
            speed = abs(swing.y[1, -1]) * length
            pull = weight * (math.cos(swing.y[0, -1]) + speed**2 / (G * length))
            tally.note(kind, "swing speed", loss["speed_m_s"], speed, max(1.0, speed), name)
            tally.note(kind, "swing pull", loss["pull_kn"], pull, weight, name)


def inside(outline, x, z):
    found = np.zeros(x.shape, bool)
    for ring in outline:
        for (ax, az), (bx, bz) in zip(ring, ring[1:] + ring[:1]):
            if az != bz:
                crosses = (az > z) != (bz > z)
                found ^= crosses & (x < ax + (z - az) / (bz - az) * (bx - ax))
    return found


def off_outline(outline, x, z):
    away = np.inf
    for ring in outline:
        for a, b in zip(ring, ring[1:] + ring[:1]):
            a, b = np.array(a), np.array(b)
            share = ((x - a[0]) * (b - a)[0] + (z - a[1]) * (b - a)[1]) / max((b - a) @ (b - a), 1e-18)
            foot = a + np.clip(share, 0, 1) * (b - a)
            away = min(away, math.hypot(x - foot[0], z - foot[1]))
    return away


def check_zone(rig, answer, tally, kind):
    """Asks for the pulls on a map and compares what holds there with the printed outline."""
    zone, name = answer["zone"], rig["name"]
    weight = rig["mass"] * G
    fixed = np.array([p["at"] for p in rig["points"].values()])
    cell = 0.02 if len(rig["lines"]) == 2 else 0.1
    xs = np.arange(fixed[:, 0].min() + cell / 2, fixed[:, 0].max(), cell)
    zs = np.arange(cell / 2, fixed[:, 1].max(), cell)
    x, z = np.meshgrid(xs, zs)
    lines = list(rig["lines"].values())
    anchors = [np.array(rig["points"][line["run"][1]]["at"]) for line in lines]
    legs = np.array([2.0 if len(line["run"]) == 3 else 1.0 for line in lines])
    ways = np.array([np.stack([a[0] - x, a[1] - z]) / np.hypot(a[0] - x, a[1] - z) for a in anchors])
    held = np.ones(x.shape, bool)
    if len(lines) == 2:
        # Both legs of a doubled line lie side by side and carry the same.
        across = ways[0, 0] * ways[1, 1] - ways[0, 1] * ways[1, 0]
        pulls = np.stack([-ways[1, 0] / across / legs[0], ways[0, 0] / across / legs[1]])
    else:
        pulls = np.full((3,) + x.shape, -1.0)
        for index in np.ndindex(x.shape):
            # Least sum of squares over the spans: a doubled line counts twice.
            a = np.stack([ways[k][(slice(None),) + index] * legs[k] for k in range(3)], axis=1)
            scale = np.sqrt(legs)
            best = shortest(a / scale, np.array([0.0, 1.0]), np.eye(3), 3)
            if best is not None:
                pulls[(slice(None),) + index] = best / scale
    for k, line in enumerate(lines):
        length = legs[k] * np.hypot(anchors[k][0] - x, anchors[k][1] - z)
        held &= (pulls[k] >= -1e-9) & (pulls[k] * weight <= line["limit"])
        if "adjust" in line:
            held &= (length >= line["adjust"][0]) & (length <= line["adjust"][1])
    area = held.sum() * cell * cell
    # Counting cells misses by a share of a cell all along the outline.
    scale = max(1.0, area) * (1 if cell < 0.05 else 4)
    tally.note(kind, "zone area", zone["area_m2"], area, scale, name)
    wrong = held != inside(zone["outline_m"], x, z)
    far = 0.0
    for i, j in zip(*np.nonzero(wrong)):
        far = max(far, off_outline(zone["outline_m"], x[i, j], z[i, j]))
    # A place may be judged otherwise within one cell of 0.02 m, across its corner.
    tally.same(kind, "zone outline within a cell", far <= 0.02 * math.sqrt(2), True, f"{name} {far}")


def solve_all(program, rigs):
    with tempfile.TemporaryDirectory() as folder:
        lesson = ["```lesson", 'title = "Random rigs"', 'code = "RR"', "```", ""]
        lesson += [block(rig) for rig in rigs]
        path = Path(folder) / "random.md"
        path.write_text("\n".join(lesson))
        done = subprocess.run(
            [program, "statics", str(path), "--format", "json"], capture_output=True, text=True
        )
        if not done.stdout:
            sys.exit(done.stderr)
        return json.loads(done.stdout)["rigs"]


def main(program):
    tally, total = Tally(), 0
    for kind, count in KINDS.items():
        rigs = [make(kind, seed) for seed in range(count)]
        answers = solve_all(program, rigs)
        name = rigs[0]["kind"]
        for rig in rigs:
            answer = answers[rig["name"]]
            total += 1
            if rig["kind"] == "mapped":
                check_zone(rig, answer, tally, name)
                continue
            if "climber" not in answer:
                tally.failed.append(f"{rig['name']}: no answer")
                continue
            places = {p: v["at_m"] for p, v in answer["points"].items()}
            places["harness"] = answer["climber"]["at_m"]
            if rig["climber"] is None:
                start = {k: np.asarray(v, float) for k, v in places.items()}
                rest = hung(rig, list(parts_of(rig)), start, start)
                if rest is not None:
                    tally.note(name, "rest", rest[-1], places["harness"][-1], 1.0, rig["name"])
            check_held(rig, answer, places, tally, name)
            check_loss(rig, answer, places, tally, name)
    print(f"{total} rigs against SciPy")
    print(f"{'kind':<16} {'what':<28} {'checks':>6}  worst relative difference")
    for (kind, what), count in tally.count.items():
        worst = tally.worst.get((kind, what))
        print(f"{kind:<16} {what:<28} {count:>6}  {'same' if worst is None else f'{worst:.1e}'}")
    for line in tally.failed[:20]:
        print("FAILED", line)
    if tally.failed:
        sys.exit(f"{len(tally.failed)} checks failed")


if __name__ == "__main__":
    main(sys.argv[1])
