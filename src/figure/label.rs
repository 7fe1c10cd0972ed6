//! Where labels go: measured boxes, obstacles with a price, fixed order, no random search.
//!
//! ```text
//! Wish (block, places in order of liking) + Obstacle… ─place→ Placed (lines of text, leader) | left out
//! ```
//!
//! Each label takes the cheapest of its wished places; where all of them would cover something, the
//! nearest free block within reach of a leader. After the first pass each label is offered its
//! choice again, knowing the others, until nothing moves. A label that fits nowhere is returned as
//! left out, for the key to say. So no two labels overlap, whatever the rig.
//!
//! Over 500 lines: all places are priced by one desk, with what it knows of the sheet.

use kurbo::{Point, Rect, Vec2};

use super::hit::{self, Outline, grown, rect_gap, segments_cross};
use super::label_drawn::Drawn;
use super::label_grid::{Grid, Known, Part, Queue};
use super::label_leader::{self as leader, LEADER_COST, LEADER_GAP_MM, LEADER_MM};
use super::text::{Align, Block, Lines};

/// Labels keep this far from the frame, mm.
pub const FRAME_GAP_MM: f64 = 1.5;

/// Labels keep this far from each other, mm.
const LABEL_GAP_MM: f64 = 0.8;

/// Two labels nearer than this read as one, mm; and what that costs for each line of the other.
const APART_MM: f64 = 2.4;
const CROWDING_COST: f64 = 1.0;

/// Leaders up to each of these are tried before all longer ones, mm: most labels find a place near by.
const REACHES_MM: [f64; 4] = [9.0, 15.0, 27.0, LEADER_MM];

/// Half the width of a leader where it crosses things, mm.
const LEADER_HALF_MM: f64 = 0.3;
/// Price of a leader that crosses a rope.
const LEADER_ROPE_COST: f64 = 5.0;

/// Shares of a leader's length at which it is asked what it runs close to, how close that is, mm, and the
/// price for each.
const SKIRTED_AT: [f64; 3] = [0.4, 0.6, 0.8];
const SKIRT_MM: f64 = 0.8;
const SKIRTING_COST: f64 = 2.0;

/// Price of a rope or an arrow between a stroke and the text beside it: the eye takes the text for that one's.
const PARTED_COST: f64 = 7.0;
/// From a stroke to where only other ropes lie beside it, and only other arrow heads, mm: half the width of a
/// rope in three parts, and of a head, and a little. And from the text to where the look between the two ends.
const OWN_MM: f64 = 1.4;
const HEAD_MM: f64 = 2.0;
const TIE_GAP_MM: f64 = 0.2;

/// Prices that differ by less are one: they are sums of a few parts in any order.
const ROUNDING: f64 = 1e-9;

/// Rounds of second thoughts after the first placing.
const ROUNDS: usize = 3;

/// What a label may cover, and at what price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Other lettering, arrow heads, marks, the climber: never.
    Never,
    /// An arrow's shaft.
    Shaft,
    /// A rope.
    Rope,
    /// Wood.
    Wood,
    /// A thin line: arcs, axes, contours.
    Thin,
}

impl Cover {
    /// Every kind, in the order of their numbers.
    pub const ALL: [Self; 5] = [Self::Never, Self::Shaft, Self::Rope, Self::Wood, Self::Thin];

    /// The price; infinite for never.
    pub const fn cost(self) -> f64 {
        match self {
            Self::Never => f64::INFINITY,
            Self::Shaft => 16.0,
            Self::Rope => 8.0,
            Self::Wood => 4.0,
            Self::Thin => 2.0,
        }
    }

    /// How far lettering keeps from it, mm.
    pub const fn gap_mm(self) -> f64 {
        match self {
            Self::Never => Self::MOST_GAP_MM,
            _ => 0.0,
        }
    }

    /// How far it keeps from what it keeps farthest from, mm.
    pub const MOST_GAP_MM: f64 = LABEL_GAP_MM / 2.0;
}

/// Something that is already drawn.
#[derive(Debug, Clone)]
pub struct Obstacle {
    /// What it costs to cover it.
    pub cover: Cover,
    /// Its shape on the sheet.
    pub outline: Outline,
}

/// A place that a label would like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Left upper corner of the block, mm.
    pub corner: Point,
    /// How its lines are aligned.
    pub align: Align,
    /// Price of not being the best wish.
    pub cost: f64,
    /// Whether a leader leads from the label's target to here.
    pub leader: bool,
    /// For a place beside a stroke, from clear of that to near the text: what lies in between parts the two.
    pub tie: Option<(Point, Point)>,
}

/// A label that wants a place.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Name for ids: `label-NAME`.
    pub name: String,
    /// What it says.
    pub block: Block,
    /// What it is about; where a leader's dot stands.
    pub target: Point,
    /// Places, best first.
    pub spots: Vec<Spot>,
    /// Whether the whole field may be searched for a place with a leader.
    pub search: bool,
}

/// A label with its place.
#[derive(Debug, Clone)]
pub struct Placed {
    /// Index of its wish.
    pub wish: usize,
    /// Left upper corner, mm.
    pub corner: Point,
    /// How its lines are aligned.
    pub align: Align,
    /// From the target to the text, if it needs one.
    pub leader: Option<(Point, Point)>,
    /// Whether it lies on a stroke and needs a plate.
    pub plate: bool,
    /// Boxes of its lines, or of those but the last where all found no place.
    pub boxes: Vec<Rect>,
    /// The box round its lines and its leader.
    around: Rect,
    /// What the nearness of others added to its price when it was placed.
    crowding: f64,
}

/// Where the wishes came to lie, and the indexes of those that found no place.
#[derive(Debug, Clone, Default)]
pub struct Placing {
    /// Labels in the order of the wishes.
    pub placed: Vec<Placed>,
    /// Wishes that fit nowhere.
    pub left_out: Vec<usize>,
}

/// Finds places for wishes, turn after turn, in each the most important first. What has a place from
/// an earlier turn stays, and is never covered.
///
/// - `field`: where labels may stand, mm.
pub fn place(turns: &[&[Wish]], obstacles: &[Obstacle], field: Rect) -> Vec<Placing> {
    if turns.iter().all(|wishes| wishes.is_empty()) {
        return vec![Placing::default(); turns.len()];
    }
    let mut desk = Desk::new(obstacles, field.inset(-FRAME_GAP_MM));
    let turns = turns.iter().map(|wishes| {
        let placing = desk.place(wishes);
        let placed = placing.placed.iter();
        desk.drawn.letter(placed.flat_map(|placed| &placed.boxes));
        placing
    });
    turns.collect()
}

/// What a label sees when it looks for a place.
struct Desk<'a> {
    drawn: Drawn<'a>,
    field: Rect,
    /// The labels of this turn that have a place, by the indexes of their wishes.
    chosen: Vec<Option<Placed>>,
    /// The boxes round those that have one while another looks, and their indexes.
    others: Vec<(Rect, usize)>,
    /// Boxes of the lines that are looked at.
    boxes: Vec<Rect>,
    /// Spots with a leader that are still to be looked at, and what is known of their rows and columns.
    queue: Queue,
    known: Known,
}

impl<'a> Desk<'a> {
    /// A desk on which nothing has a place yet.
    ///
    /// - `field`: where labels may stand, mm.
    fn new(obstacles: &'a [Obstacle], field: Rect) -> Self {
        Self {
            drawn: Drawn::new(obstacles, field),
            field,
            chosen: Vec::new(),
            others: Vec::new(),
            boxes: Vec::new(),
            queue: Queue::default(),
            known: Known::default(),
        }
    }

    /// Finds a place for every wish of a turn.
    fn place(&mut self, wishes: &[Wish]) -> Placing {
        self.chosen = vec![None; wishes.len()];
        // Offers so far, and for each label the number of the last one that took it from its place.
        let mut offers = 0;
        let mut left_at = vec![0; wishes.len()];
        let mut offered_at = vec![0; wishes.len()];
        for round in 0..=ROUNDS {
            let mut moved = false;
            for (i, wish) in wishes.iter().enumerate() {
                // A label that found no place is offered one again only with what it says cut down.
                let before = self.chosen[i].take();
                let others = self.chosen.iter().enumerate();
                let others = others.filter_map(|(i, other)| Some((other.as_ref()?.around, i)));
                self.others.clear();
                self.others.extend(others);
                offers += 1;
                // Since the last offer others may have come, but none has gone: nothing got cheaper.
                let only_more = round > 0 && left_at.iter().all(|at| *at < offered_at[i]);
                offered_at[i] = offers;
                if only_more && before.as_ref().is_none_or(|placed| self.as_before(placed)) {
                    self.chosen[i] = before;
                    continue;
                }
                let found = self.best(i, wish);
                let same = match (&before, &found) {
                    (Some(a), Some(b)) => a.corner == b.corner && a.align == b.align,
                    (None, None) => true,
                    _ => false,
                };
                moved |= !same;
                let lines = |placed: &Option<Placed>| placed.as_ref().map(|p| p.boxes.len());
                if before.is_some() && (!same || lines(&before) != lines(&found)) {
                    left_at[i] = offers;
                }
                self.chosen[i] = found.or(before);
            }
            if round > 0 && !moved {
                break;
            }
        }
        let chosen = std::mem::take(&mut self.chosen);
        let left_out = (0..wishes.len()).filter(|i| chosen[*i].is_none()).collect();
        Placing {
            placed: chosen.into_iter().flatten().collect(),
            left_out,
        }
    }

    /// The cheapest place; with fewer lines where the whole fits nowhere.
    fn best(&mut self, index: usize, wish: &Wish) -> Option<Placed> {
        (1..=wish.block.lines.len()).rev().find_map(|count| {
            let lines = wish.block.first(count);
            let best = self.best_for(wish, lines)?;
            let Spot { corner, align, .. } = best.spot;
            let boxes: Vec<Rect> = lines.boxes(corner, align).collect();
            Some(Placed {
                wish: index,
                corner,
                align,
                leader: best.leader,
                plate: best.plate,
                around: around(&boxes, best.leader),
                boxes,
                crowding: best.crowding,
            })
        })
    }

    /// The cheapest place for some lines; of two alike the one that was wished first.
    fn best_for(&mut self, wish: &Wish, lines: Lines<'_>) -> Option<Best> {
        let mut best: Option<Best> = None;
        for (rank, spot) in wish.spots.iter().enumerate() {
            self.offer(wish, lines, (*spot, rank), &mut best);
        }
        if wish.search && cost_of(best.as_ref()) >= LEADER_COST {
            self.search(wish, lines, &mut best);
        }
        best
    }

    /// Looks for a cheaper spot on a grid, as far as a leader reaches: from the one that could be
    /// cheapest on, so that most need no look at what they would cover.
    fn search(&mut self, wish: &Wish, lines: Lines<'_>, best: &mut Option<Best>) {
        let grid = Grid::new(wish.target, lines, self.field);
        let mut queue = std::mem::take(&mut self.queue);
        let mut known = std::mem::take(&mut self.known);
        queue.clear();
        let mut inner = Part::default();
        for reach in REACHES_MM {
            let part = grid.within(reach + LEADER_GAP_MM);
            let limit = cost_of(best.as_ref()) + ROUNDING;
            let raster = self.drawn.raster();
            grid.ring((&part, &inner), limit, raster, &mut known, &mut queue);
            inner = part;
            // What lies farther away costs more than this, if anything does.
            let most = if reach < LEADER_MM {
                leader::price(reach)
            } else {
                f64::INFINITY
            };
            while let Some((row, column)) = queue.pop(most.min(cost_of(best.as_ref()))) {
                let rank = wish.spots.len() + grid.number(row, column);
                self.weigh(wish, lines, (grid.spot(row, column), rank), best);
            }
            if cost_of(best.as_ref()) < most {
                break;
            }
        }
        (self.queue, self.known) = (queue, known);
    }

    /// A spot inside the field, with the least that it can cost.
    fn seat(&self, target: Point, lines: Lines<'_>, spot: Spot) -> Option<Seat> {
        let (x, y) = (spot.corner.x, spot.corner.y);
        let whole = Rect::new(x, y, x + lines.width(), y + lines.height());
        if !contains(self.field, whole) {
            return None;
        }
        let leader = spot
            .leader
            .then(|| leader::to(target, whole, spot.align, lines.count()));
        let least = spot.cost + leader.map_or(0.0, |(from, to)| leader::price(from.distance(to)));
        (least < f64::INFINITY).then_some(Seat { leader, least })
    }

    /// Takes a spot if it is cheaper than what was found so far, or as cheap and wished earlier.
    ///
    /// - `rank`: its place in the order of liking.
    fn offer(
        &mut self,
        wish: &Wish,
        lines: Lines<'_>,
        (spot, rank): (Spot, usize),
        best: &mut Option<Best>,
    ) {
        // What is quickest to find out first.
        let limit = cost_of(best.as_ref()) + ROUNDING;
        if spot.cost <= limit {
            let boxes = lines.boxes(spot.corner, spot.align);
            if spot.cost + self.drawn.surely(boxes) <= limit {
                self.weigh(wish, lines, (spot, rank), best);
            }
        }
    }

    /// As [`Self::offer`], for a spot of which nothing known speaks against it.
    fn weigh(
        &mut self,
        wish: &Wish,
        lines: Lines<'_>,
        (spot, rank): (Spot, usize),
        best: &mut Option<Best>,
    ) {
        let limit = cost_of(best.as_ref());
        let before = best.as_ref().map_or(usize::MAX, |best| best.rank);
        let beaten = |cost: f64| cost > limit || (cost >= limit && rank > before);
        let seat = self.seat(wish.target, lines, spot);
        let Some(Seat { leader, least }) = seat.filter(|seat| !beaten(seat.least)) else {
            return;
        };
        self.boxes.clear();
        self.boxes.extend(lines.boxes(spot.corner, spot.align));
        let around = around(&self.boxes, leader);
        let Some(crowding) = self.crowding(&self.boxes, leader, around) else {
            return;
        };
        let (cover, plate) = self.cover_cost(limit - least - crowding);
        if cover == f64::INFINITY {
            return;
        }
        let left = limit - least - crowding - cover;
        let mut crossed = leader.map_or(0.0, |ends| self.crossing_cost(ends, left));
        crossed += spot.tie.map_or(0.0, |tie| self.parting_cost(tie));
        let cost = least + crossed + crowding + cover;
        if !beaten(cost) {
            *best = Some(Best {
                cost,
                spot,
                rank,
                leader,
                plate,
                crowding,
            });
        }
    }

    /// Whether a label still stands alone: it costs what it did before others came, so that it
    /// would take its place again.
    fn as_before(&self, placed: &Placed) -> bool {
        self.crowding(&placed.boxes, placed.leader, placed.around)
            .is_some_and(|crowding| crowding <= placed.crowding)
    }

    /// Price of standing so near to other labels that they read as one; `None` where text or leader
    /// would meet another label or its leader.
    ///
    /// - `around`: the box round both.
    fn crowding(
        &self,
        boxes: &[Rect],
        leader: Option<(Point, Point)>,
        around: Rect,
    ) -> Option<f64> {
        let mut near = 0;
        for (theirs, other) in &self.others {
            let apart = rect_gap(around, *theirs);
            if apart >= APART_MM {
                continue;
            }
            let Some(other) = &self.chosen[*other] else {
                continue;
            };
            for theirs in &other.boxes {
                let gaps = boxes.iter().map(|mine| rect_gap(*mine, *theirs));
                let gap = gaps.fold(f64::INFINITY, f64::min);
                if gap < LABEL_GAP_MM {
                    return None;
                }
                near += usize::from(gap < APART_MM);
            }
            if apart < LABEL_GAP_MM && leaders_meet((boxes, leader), (&other.boxes, other.leader)) {
                return None;
            }
        }
        Some(CROWDING_COST * near as f64)
    }

    /// Price of what the boxes in hand cover, and whether that asks for a plate; infinite for one that is
    /// dearer than `limit`.
    fn cover_cost(&mut self, limit: f64) -> (f64, bool) {
        let mut cost = 0.0;
        let mut plate = false;
        self.drawn.covered(&self.boxes, |cover| {
            cost += cover.cost();
            plate |= cover != Cover::Wood;
            cost <= limit + ROUNDING && cost < f64::INFINITY
        });
        if cost > limit + ROUNDING {
            cost = f64::INFINITY;
        }
        (cost, plate)
    }

    /// Price of what a leader crosses; for one that is dearer than `limit`, of a part of it.
    fn crossing_cost(&mut self, (from, to): (Point, Point), limit: f64) -> f64 {
        // Beyond its own target: the first millimetres lie on the thing it names.
        let start = from + (to - from) * (1.5 / from.distance(to));
        let mut cost = 0.0;
        self.drawn.crossed((start, to, LEADER_HALF_MM), |cover| {
            cost += match cover {
                Cover::Never => 2.0 * LEADER_ROPE_COST,
                Cover::Shaft | Cover::Rope => LEADER_ROPE_COST,
                Cover::Wood => 0.2,
                Cover::Thin => 0.5,
            };
            cost <= limit + ROUNDING
        });
        cost + self.skirting_cost((from, to), limit - cost)
    }

    /// Price of a leader that runs close beside ropes and arrows: asked at some places of it, clear of
    /// its own target.
    fn skirting_cost(&mut self, (from, to): (Point, Point), limit: f64) -> f64 {
        let length = from.distance(to);
        let mut cost = 0.0;
        for share in SKIRTED_AT {
            if share * length < HEAD_MM + SKIRT_MM || cost > limit + ROUNDING {
                continue;
            }
            let place = Rect::from_center_size(from.lerp(to, share), (0.0, 0.0));
            let mut near = false;
            self.drawn.covered(&[grown(place, SKIRT_MM)], |cover| {
                near |= matches!(cover, Cover::Never | Cover::Shaft | Cover::Rope);
                !near
            });
            if near {
                cost += SKIRTING_COST;
            }
        }
        cost
    }

    /// Price of what lies between a stroke and the text beside it.
    fn parting_cost(&mut self, (from, to): (Point, Point)) -> f64 {
        let mut parted = false;
        self.drawn.crossed((from, to, LEADER_HALF_MM), |cover| {
            parted |= matches!(cover, Cover::Shaft | Cover::Rope);
            !parted
        });
        // The stroke's own arrow head is wider than its ropes.
        let from = from + (to - from) * ((HEAD_MM - OWN_MM) / from.distance(to)).min(1.0);
        self.drawn.crossed((from, to, LEADER_HALF_MM), |cover| {
            parted |= cover == Cover::Never;
            !parted
        });
        if parted { PARTED_COST } else { 0.0 }
    }
}

/// Whether the leader of one of two labels meets the other's text or leader.
fn leaders_meet(
    (mine, my_leader): (&[Rect], Option<(Point, Point)>),
    (theirs, their_leader): (&[Rect], Option<(Point, Point)>),
) -> bool {
    let led = |leader: Option<(Point, Point)>, to: &[Rect]| {
        leader.is_some_and(|(a, b)| {
            let line = Outline::segment(a, b, LABEL_GAP_MM / 2.0);
            to.iter().any(|b| line.meets(*b))
        })
    };
    let crossing = match (my_leader, their_leader) {
        (Some(a), Some(b)) => segments_cross(a, b),
        _ => false,
    };
    crossing || led(my_leader, theirs) || led(their_leader, mine)
}

/// The box round a label and its leader.
fn around(boxes: &[Rect], leader: Option<(Point, Point)>) -> Rect {
    let leader = leader.map(|(a, b)| hit::around(a, b));
    let all = boxes.iter().copied().chain(leader);
    all.reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// What can be said of a spot without looking at what is drawn.
struct Seat {
    leader: Option<(Point, Point)>,
    /// The least that it can cost.
    least: f64,
}

/// The cheapest spot so far.
struct Best {
    cost: f64,
    spot: Spot,
    /// Its place in the order of liking.
    rank: usize,
    leader: Option<(Point, Point)>,
    plate: bool,
    crowding: f64,
}

/// What the best costs so far.
fn cost_of(best: Option<&Best>) -> f64 {
    best.map_or(f64::INFINITY, |best| best.cost)
}

fn contains(outer: Rect, inner: Rect) -> bool {
    inner.x0 >= outer.x0 && inner.x1 <= outer.x1 && inner.y0 >= outer.y0 && inner.y1 <= outer.y1
}

/// Spots beside a stroke: on one side of the place, at the given clearance, the block's near corner
/// or edge turned to it.
///
/// - `side`: unit vector away from the stroke.
pub fn beside(place: Point, side: Vec2, gap_mm: f64, block: &Block, cost: f64) -> Spot {
    let (width, height) = (block.width(), block.height());
    let near = place + side * gap_mm;
    // The block touches `near` with the part of its edge that faces the stroke.
    let x = if side.x > 0.35 {
        near.x
    } else if side.x < -0.35 {
        near.x - width
    } else {
        near.x - width / 2.0 + width / 2.0 * side.x / 0.35
    };
    let y = if side.y > 0.7 {
        near.y
    } else if side.y < -0.7 {
        near.y - height
    } else {
        near.y - height / 2.0 + height / 2.0 * side.y / 0.7
    };
    Spot {
        corner: Point::new(x, y),
        align: if side.x < -0.1 {
            Align::End
        } else if side.x > 0.1 {
            Align::Start
        } else {
            Align::Middle
        },
        cost,
        leader: false,
        tie: (gap_mm > HEAD_MM + TIE_GAP_MM)
            .then(|| (place + side * OWN_MM, near - side * TIE_GAP_MM)),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::figure::shape::Ink;
    use crate::figure::text::{bold, plain};

    /// The cheapest of all spots of a wish, each looked at for itself.
    fn cheapest(desk: &mut Desk<'_>, wish: &Wish, lines: Lines<'_>) -> Option<Best> {
        let mut best = None;
        for (rank, spot) in wish.spots.iter().enumerate() {
            desk.weigh(wish, lines, (*spot, rank), &mut best);
        }
        let grid = Grid::new(wish.target, lines, desk.field);
        let (rows, columns) = grid.within(2.0 * LEADER_MM);
        for row in rows {
            for column in columns.clone() {
                let rank = wish.spots.len() + grid.number(row, column);
                desk.weigh(wish, lines, (grid.spot(row, column), rank), &mut best);
            }
        }
        best
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn the_search_finds_the_cheapest_of_all_spots(
            size in prop::sample::select(vec![(40.0, 30.0), (92.0, 130.0), (160.0, 60.0), (420.0, 240.0)]),
            strokes in prop::collection::vec(
                (0..Cover::ALL.len(), (-0.2..1.2f64, -0.2..1.2f64), (-0.5..0.5f64, -0.5..0.5f64)),
                3..30,
            ),
            targets in prop::collection::vec(((-0.1..1.1f64, -0.1..1.1f64), 0..3usize), 6),
        ) {
            let field = Rect::from_origin_size((1.5, 1.5), size);
            let at = |(x, y): (f64, f64)| {
                Point::new(field.x0 + x * field.width(), field.y0 + y * field.height())
            };
            let obstacles = strokes.into_iter().enumerate().map(|(i, (kind, from, by))| {
                let (from, to) = (at(from), at((from.0 + by.0, from.1 + by.1)));
                let outline = match i % 3 {
                    0 => Outline::Box(Rect::from_points(from, to)),
                    1 => Outline::filled(vec![from, to, Point::new(to.x, from.y)]),
                    _ => Outline::segment(from, to, 0.4),
                };
                Obstacle { cover: Cover::ALL[kind], outline }
            });
            let obstacles: Vec<Obstacle> = obstacles.collect();
            let mut desk = Desk::new(&obstacles, field);
            for (target, long) in targets {
                let words = ["main", "line too short", "second, two legs"];
                let lines = vec![vec![bold(words[long], Ink::Ink)], vec![plain("0.44 kN", Ink::Ink)]];
                let wish = Wish {
                    name: "any".into(),
                    block: Block::new(lines),
                    target: at(target),
                    spots: Vec::new(),
                    search: true,
                };
                let lines = wish.block.first(2);
                let place = |best: Option<Best>| best.map(|best| (best.rank, best.plate));
                let all = cheapest(&mut desk, &wish, lines);
                let found = desk.best_for(&wish, lines);
                let [all, found] = [all, found].map(place);
                prop_assert_eq!(all, found, "{:?} {:?}", wish.target, &obstacles);
                // The next ones have it for a neighbour.
                let index = desk.chosen.len();
                let placed = desk.best(index, &wish);
                desk.others.extend(placed.iter().map(|placed| (placed.around, index)));
                desk.chosen.push(placed);
            }
        }
    }

    const FIELD: Rect = Rect::new(0.0, 0.0, 80.0, 60.0);

    fn block() -> Block {
        Block::new(vec![vec![plain("second", Ink::Ink)]])
    }

    fn upright(x: f64, cover: Cover) -> Obstacle {
        let ends = (Point::new(x, 5.0), Point::new(x, 55.0));
        Obstacle {
            cover,
            outline: Outline::segment(ends.0, ends.1, 0.5),
        }
    }

    /// Where a label of the rope at 30 mm comes to lie, with another thing drawn at a place across.
    fn side(other: Option<Obstacle>) -> f64 {
        let block = block();
        let place = Point::new(30.0, 30.0);
        let right = beside(place, Vec2::new(1.0, 0.0), 6.0, &block, 0.0);
        let left = beside(place, Vec2::new(-1.0, 0.0), 6.0, &block, 2.0);
        let wish = Wish {
            name: "second".to_owned(),
            block,
            target: place,
            spots: vec![right, left],
            search: false,
        };
        let mut drawn = vec![upright(30.0, Cover::Rope)];
        drawn.extend(other);
        let placing = place_one(&wish, &drawn);
        placing.corner.x - place.x
    }

    fn place_one(wish: &Wish, drawn: &[Obstacle]) -> Placed {
        let turns = [std::slice::from_ref(wish)];
        let placing = place(&turns, drawn, FIELD).remove(0);
        placing.placed.into_iter().next().expect("a place")
    }

    #[test]
    fn nothing_but_a_thin_line_stands_between_a_rope_and_its_name() {
        assert!(side(None) > 0.0);
        assert!(side(Some(upright(33.5, Cover::Thin))) > 0.0);
        assert!(side(Some(upright(33.5, Cover::Rope))) < 0.0);
        assert!(side(Some(upright(33.5, Cover::Shaft))) < 0.0);
        // On the other side it parts nothing.
        assert!(side(Some(upright(26.5, Cover::Rope))) > 0.0);
    }

    #[test]
    fn a_leader_keeps_off_a_shaft_that_runs_its_way() {
        let block = block();
        let spot = |x: f64, cost: f64| Spot {
            corner: Point::new(x, 45.0),
            align: Align::Start,
            cost,
            leader: true,
            tie: None,
        };
        let target = Point::new(30.0, 15.0);
        let wish = Wish {
            name: "second".to_owned(),
            target,
            spots: vec![spot(27.0, 0.0), spot(42.0, 1.0)],
            search: false,
            block,
        };
        let x = |drawn: &[Obstacle]| place_one(&wish, drawn).corner.x;
        assert!(x(&[]) < 28.0);
        let shaft = Outline::segment(Point::new(29.0, 17.0), Point::new(29.0, 40.0), 0.7);
        let beside_it = Obstacle {
            cover: Cover::Shaft,
            outline: shaft,
        };
        assert!(x(&[beside_it]) > 41.0);
    }
}
