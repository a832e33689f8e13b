//! The best path round a course mark: in on one course, out on another, in the least time from a line far before it to a line behind it.
//!
//! The boat is a point with a speed. In the turn her curvature is a straight line in three places of the angle turned; her speed runs towards what the
//! polar gives on the course of the moment with one time constant, and a [`TurningTable`] says what turning takes. A path is laid as near to the
//! course mark as a clearance allows. Lines are those of equal time to go ([`Sailing::price`]): across the wind on a beat or run, so that coming in wide of
//! the course mark costs nothing there by itself, and across the course's own price on a reach. A current carries the boat past the course mark while she
//! turns. Left out: how long rudder and sheet take to be moved, and what a child does with her weight.
//!
//! Rule of the trade to hold it against: wide in, tight out (T17). It is not written anywhere in here.

mod beside;
mod path;
mod table;

pub use beside::Beside;
pub use path::Path;
pub use table::{Turn, TurningTable};

use crate::Error;
use crate::course::Side;
use crate::sailing::{Sailing, Stuck};
use measure::Bearing;
use measure::angle::{DEGREE, wrap};
use path::{Ground, Shape};

/// The zone, in lengths of the hull nearer to the course mark. Source: Racing Rules of Sailing, definition of the zone; the notice of race may say two or four.
pub const ZONE: f64 = 3.0;
/// Least and greatest turn, rad.
const TURN: [f64; 2] = [10.0 * DEGREE, 200.0 * DEGREE];
/// Widest way in that is tried, boat lengths.
const WIDEST: f64 = 4.0;
/// Step of the entries tried, m.
const ENTRY_STEP: f64 = 0.2;
/// Least share of the tightest curvature that is tried.
const GENTLEST: f64 = 0.06;
/// Finest step of a share: under a hundredth of a metre in the cost.
const FINEST: f64 = 4e-3;
/// Makes no difference: the greater of this share of the metres to the finish line behind the course mark, and so many metres.
const SHARE: f64 = 0.003;
const METRES: f64 = 0.5;

/// A rounding to be sailed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rounding<'a> {
    /// What the boat can do today.
    pub sailing: &'a Sailing,
    /// How she turns.
    pub table: &'a TurningTable,
    /// On which side the course mark is left.
    pub side: Side,
    /// Course through the water before it.
    pub approach: Bearing,
    /// Course through the water after it.
    pub exit: Bearing,
    /// The boat's length, m.
    pub boat: f64,
    /// How near her middle may come to the course mark, m.
    pub clearance: f64,
    /// Time constant with which she gathers way, s.
    pub settle: f64,
    /// Metres along the way out to the line where paths are compared.
    pub finish: f64,
}

/// A path with what it loses on the best.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The path.
    pub path: Path,
    /// Metres made good on the way out that it is behind the best.
    pub behind: f64,
}

/// The best path and the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Rounded {
    /// The best of all.
    pub best: Path,
    /// Entries, m, between which it makes no difference that matters, the turn being the best for each.
    pub entry: [f64; 2],
    /// The best paths from those two entries: what lies between them makes no difference.
    pub edges: [Path; 2],
    /// Metres behind by the entry, the turn being the best for each.
    pub by_entry: Vec<(f64, f64)>,
    /// What makes no difference, m.
    pub no_difference: f64,
    /// Tight in, wide out: in as near to the course mark as the clearance allows, the best turn from there.
    pub tight_in: Compared,
    /// The best path with the turn begun a boat length later: wide in, wide out.
    pub late: Compared,
    /// The best path of one radius throughout.
    pub one_radius: Compared,
    /// Metres made good in a second on the way out.
    pub made_good: f64,
}

impl Rounding<'_> {
    /// Whether it is a rounding at all.
    ///
    /// # Errors
    /// A turn the wrong way round or through the wind, or a length out of range.
    pub fn turns(&self) -> Result<(), Error> {
        let sign = if self.side == Side::Port { -1.0 } else { 1.0 };
        let turn = (sign * (self.exit.in_radians() - self.approach.in_radians())).rem_euclid(core::f64::consts::TAU);
        let wrong = |found: String, remedy: &str| Err(Error::new("rounding", found, remedy));
        if !(TURN[0]..=TURN[1]).contains(&turn) {
            let found = format!("leaving the course mark to {} she turns {:.0} degrees", self.side.word(), turn / DEGREE);
            return wrong(found, "a rounding turns 10 to 200 degrees towards the course mark; is it left on the other side?");
        }
        let eye = sign * wrap(self.sailing.wind_from().in_radians() - self.approach.in_radians());
        if eye.rem_euclid(core::f64::consts::TAU) < turn {
            return wrong("the turn goes through the wind".to_owned(), "tack before the course mark, and give the course after the tack");
        }
        let sizes = [(self.boat, 0.5, 30.0), (self.clearance, 0.1, 20.0), (self.settle, 0.2, 60.0), (self.finish, 5.0, 5000.0)];
        if sizes.iter().any(|(v, low, high)| !(low..=high).contains(&v)) {
            return wrong(
                "a length or a time out of range".to_owned(),
                "boat 0.5 to 30 m, clearance 0.1 to 20 m, way gathered in 0.2 to 60 s, finish 5 to 5000 m",
            );
        }
        Ok(())
    }

    /// What the radii of a turn (m, at its beginning, middle and end) cost at an entry, m behind nothing: a path for comparing.
    ///
    /// # Errors
    /// As [`Self::best`].
    pub fn path(&self, radii: [f64; 3], entry: f64) -> Result<Path, Error> {
        self.turns()?;
        let ground = Ground::of(self).map_err(stuck)?;
        let shape = ground.shape(radii.map(|r| (1.0 / r.max(1e-3)).min(ground.tightest())));
        Ok(ground.path(&shape, entry.max(self.clearance), 0.0))
    }

    /// The best path and what others lose on it.
    ///
    /// # Errors
    /// A turn the wrong way round or through the wind, or a boat that makes no way in or out.
    pub fn best(&self) -> Result<Rounded, Error> {
        self.turns()?;
        let ground = Ground::of(self).map_err(stuck)?;
        let entries = self.entries();
        // Free entry: for each turn the entry that costs least.
        let over_entries = |shape: &Shape| {
            let cost = |e: f64| ground.at(shape, e, 0.0);
            let rough = entries.iter().copied().fold((f64::INFINITY, self.clearance), |b, e| {
                let c = cost(e);
                if c < b.0 { (c, e) } else { b }
            });
            finer(cost, rough, self.clearance)
        };
        let starts = [[0.3, 0.3, 0.3], [0.15, 0.5, 0.9], [0.9, 0.5, 0.2], [0.5, 0.9, 0.5]];
        let found = starts.map(|start| search(start, |f| over_entries(&ground.shape(f.map(|f| f * ground.tightest()))).0));
        let best = found.into_iter().fold(found[0], |a, b| if b.1 < a.1 { b } else { a });
        let shape = ground.shape(best.0.map(|f| f * ground.tightest()));
        let (cost, entry) = over_entries(&shape);
        let made_good = ground.made_good();
        let compared = |path: Path| Compared { behind: ((path.cost - cost) * made_good).max(0.0), path };
        let mut by_entry = Vec::with_capacity(entries.len());
        let mut near = best.0;
        let one = |e: f64, near: &mut [f64; 3]| {
            let of = |f: [f64; 3]| ground.at(&ground.shape(f.map(|f| f * ground.tightest())), e, 0.0);
            let a = search(*near, of);
            *near = a.0;
            a
        };
        // Outwards and inwards from the best, each from the turn found before it.
        let middle = entries.partition_point(|e| *e < entry);
        for i in (0..middle).rev() {
            by_entry.push((entries[i], one(entries[i], &mut near).1));
        }
        by_entry.reverse();
        let tight_near = near;
        near = best.0;
        for e in &entries[middle..] {
            by_entry.push((*e, one(*e, &mut near).1));
        }
        let by_entry: Vec<(f64, f64)> = by_entry.into_iter().map(|(e, c)| (e, ((c - cost) * made_good).max(0.0))).collect();
        let no_difference = (SHARE * self.finish).max(METRES);
        // Between two entries tried the loss is taken for a straight line.
        let edge = |from: (f64, f64), tried: &mut dyn Iterator<Item = &(f64, f64)>| {
            let mut last = from;
            for &next in tried {
                if next.1 > no_difference {
                    return last.0 + (next.0 - last.0) * (no_difference - last.1) / (next.1 - last.1);
                }
                last = next;
            }
            last.0
        };
        let low = edge((entry, 0.0), &mut by_entry[..middle].iter().rev());
        let high = edge((entry, 0.0), &mut by_entry[middle..].iter());
        let tight = [tight_near, best.0]
            .map(|start| search(start, |f| ground.at(&ground.shape(f.map(|f| f * ground.tightest())), self.clearance, 0.0)));
        let tight = if tight[0].1 < tight[1].1 { tight[0].0 } else { tight[1].0 };
        let tight_in = compared(ground.path(&ground.shape(tight.map(|f| f * ground.tightest())), self.clearance, 0.0));
        let edges = [low, high].map(|e| {
            let turn = search(best.0, |f| ground.at(&ground.shape(f.map(|f| f * ground.tightest())), e, 0.0)).0;
            ground.path(&ground.shape(turn.map(|f| f * ground.tightest())), e, 0.0)
        });
        let late = compared(ground.path(&shape, entry, self.boat));
        let one_radius = (0..=60)
            .map(|i| GENTLEST + (1.0 - GENTLEST) * f64::from(i) / 60.0)
            .map(|f| {
                let shape = ground.shape([f * ground.tightest(); 3]);
                let (cost, entry) = over_entries(&shape);
                (cost, entry, shape)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or_else(|| late.clone(), |(_, entry, shape)| compared(ground.path(&shape, entry, 0.0)));
        let best = ground.path(&shape, entry, 0.0);
        Ok(Rounded { best, entry: [low, high], edges, by_entry, no_difference, tight_in, late, one_radius, made_good })
    }

    fn entries(&self) -> Vec<f64> {
        let count = ((WIDEST * self.boat).max(self.clearance + ENTRY_STEP) - self.clearance) / ENTRY_STEP;
        (0..=count.ceil() as usize).map(|i| self.clearance + ENTRY_STEP * i as f64).collect()
    }
}

fn stuck(stuck: Stuck) -> Error {
    let found = match stuck {
        Stuck::NoWind => stuck.words(),
        Stuck::Current => "on one of its courses she makes no way",
    };
    Error::new("rounding", found, "give courses that she can sail, no nearer to the wind than a beat")
}

/// Golden section about the rough minimum of a grid. Source: J. Kiefer, Proceedings of the AMS 4 (1953).
fn finer(cost: impl Fn(f64) -> f64, rough: (f64, f64), least: f64) -> (f64, f64) {
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut a, mut b) = ((rough.1 - ENTRY_STEP).max(least), rough.1 + ENTRY_STEP);
    for _ in 0..12 {
        let (c, d) = (b - ratio * (b - a), a + ratio * (b - a));
        if cost(c) < cost(d) { b = d } else { a = c }
    }
    let e = 0.5 * (a + b);
    let fine = cost(e);
    if fine < rough.0 { (fine, e) } else { rough }
}

/// The least of a function of three shares, by steps along each axis and along the diagonals, halved when none helps.
fn search(start: [f64; 3], cost: impl Fn([f64; 3]) -> f64) -> ([f64; 3], f64) {
    const WAYS: [[f64; 3]; 7] =
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 1.0], [1.0, 0.0, -1.0], [1.0, -1.0, 0.0], [0.0, 1.0, -1.0]];
    let held = |f: [f64; 3]| f.map(|f| f.clamp(GENTLEST, 1.0));
    let mut best = held(start);
    let mut least = cost(best);
    let mut step = 0.2;
    while step > FINEST {
        let before = least;
        for way in WAYS {
            for sign in [step, -step] {
                let tried = held(core::array::from_fn(|i| best[i] + sign * way[i]));
                let c = if tried == best { f64::INFINITY } else { cost(tried) };
                if c < least - 1e-12 {
                    (best, least) = (tried, c);
                }
            }
        }
        if least >= before {
            step *= 0.5;
        }
    }
    (best, least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sailing::Day;
    use measure::{Polar, Speed};

    /// A small pram's shape: a beat at about 48 degrees, fastest on the reach, a run slower than it.
    fn pram() -> Polar {
        Polar::by_rule(&[4.0], |_, degrees| {
            let close = 1.0 - (-((degrees - 22.0_f64).max(0.0)) / 18.0).exp();
            let deep = 1.0 - 0.22 * ((degrees - 100.0).max(0.0) / 80.0).powi(2);
            1.9 * close * deep
        })
    }

    pub(super) fn sailing(toward: f64, current: f64) -> Sailing {
        let day = Day {
            wind_from: Bearing::default(),
            wind: Speed::metres_per_second(4.0),
            current_toward: Bearing::degrees_true(toward),
            current: Speed::metres_per_second(current),
        };
        Sailing::of(&pram(), &day).unwrap()
    }

    pub(super) fn leeward<'a>(sailing: &'a Sailing, table: &'a TurningTable) -> Rounding<'a> {
        let (beat, run) = (sailing.beat().unwrap()[0], sailing.run().unwrap()[0]);
        Rounding {
            sailing,
            table,
            side: Side::Port,
            approach: run.course(),
            exit: beat.course(),
            boat: 2.4,
            clearance: 1.0,
            settle: 4.0,
            finish: 100.0,
        }
    }

    /// The rule of the trade T17, of which nothing is coded: wide in and tight out is best, tight in goes wide out, is slower and loses metres, and a
    /// turn begun late loses more. Whatever a turn costs, half or double.
    #[test]
    fn wide_in_and_tight_out_at_the_leeward_course_mark() {
        let sailing = sailing(0.0, 0.0);
        for scale in [0.5, 1.0, 2.0] {
            let table = TurningTable::assumed().scaled(scale);
            let found = leeward(&sailing, &table).best().unwrap();
            println!(
                "losses x {scale}: entry {:.2} exit {:.2}; tight in {:.2} m, late {:.2} m, one radius {:.2} m; band {:.1} to {:.1}",
                found.best.entry,
                found.best.exit,
                found.tight_in.behind,
                found.late.behind,
                found.one_radius.behind,
                found.entry[0],
                found.entry[1]
            );
            assert!(found.best.entry > found.best.exit, "wider in than out");
            assert!(found.tight_in.path.exit > found.best.exit, "tight in is wide out");
            assert!(found.tight_in.path.least_speed < found.best.least_speed, "and slow");
            assert!(found.tight_in.behind > found.no_difference && found.late.behind > found.no_difference);
            assert!(found.one_radius.behind < found.tight_in.behind);
            assert!(found.entry[0] < found.best.entry && found.best.entry < found.entry[1]);
        }
    }

    /// Left to starboard in the mirror, all is the same.
    #[test]
    fn the_mirror_rounds_alike() {
        let table = TurningTable::assumed();
        let (a, b) = (sailing(250.0, 0.1), sailing(110.0, 0.1));
        let port = leeward(&a, &table);
        let mirror = |c: Bearing| Bearing::radians_true(-c.in_radians());
        let starboard = Rounding { sailing: &b, side: Side::Starboard, approach: mirror(port.approach), exit: mirror(port.exit), ..port };
        let (p, s) = (port.best().unwrap(), starboard.best().unwrap());
        assert!((p.best.entry - s.best.entry).abs() < MIRROR && (p.tight_in.behind - s.tight_in.behind).abs() < MIRROR);
        for (x, y) in p.best.points.iter().zip(&s.best.points) {
            assert!((x[0] + y[0]).abs() < MIRROR && (x[1] - y[1]).abs() < MIRROR, "{x:?} {y:?}");
        }
    }
    /// The two searches run through rounding errors of their own, m.
    const MIRROR: f64 = 1e-3;

    /// No path of a grid over radii and entries, each laid on its own, is better than the best.
    #[test]
    fn no_path_of_a_grid_is_better() {
        /// The search stops within this, m.
        const FOUND: f64 = 0.02;
        let sailing = sailing(60.0, 0.15);
        let table = TurningTable::assumed();
        for (side, approach, exit) in
            [(Side::Port, 164.0, 47.0), (Side::Port, 317.0, 196.0), (Side::Starboard, 60.0, 150.0), (Side::Port, 250.0, 140.0)]
        {
            let r = Rounding {
                side,
                approach: Bearing::degrees_true(approach),
                exit: Bearing::degrees_true(exit),
                ..leeward(&sailing, &table)
            };
            let found = r.best().unwrap();
            let radii = [2.2, 2.6, 3.2, 4.0, 5.5, 8.0, 14.0, 30.0];
            let mut best = f64::INFINITY;
            for a in radii {
                for b in radii {
                    for c in radii {
                        for e in 0..12 {
                            best = best.min(r.path([a, b, c], 1.0 + 0.6 * f64::from(e)).unwrap().cost);
                        }
                    }
                }
            }
            let ahead = (found.best.cost - best) * found.made_good;
            assert!(ahead < FOUND, "{side:?} {approach} {exit}: a path of the grid is {ahead} m better");
            assert!(ahead > -0.6, "the grid is too coarse to tell: {ahead}");
        }
    }

    /// From reach to reach, in a polar with a dip between: to round far off the course mark gains nothing.
    #[test]
    fn a_dip_of_the_polar_is_no_gain() {
        let dip = |degrees: f64| 1.0 - 0.12 * (-((degrees - 90.0) / 8.0).powi(2)).exp();
        let polar = Polar::by_rule(&[4.0], |_, degrees| pram().speed(4.0, degrees * DEGREE) * dip(degrees));
        let day = Day {
            wind_from: Bearing::default(),
            wind: Speed::metres_per_second(4.0),
            current_toward: Bearing::default(),
            current: Speed::default(),
        };
        let sailing = Sailing::of(&polar, &day).unwrap();
        let table = TurningTable::assumed();
        let still = Sailing::of(&pram(), &day).unwrap();
        let r = Rounding {
            side: Side::Starboard,
            approach: Bearing::degrees_true(90.0),
            exit: Bearing::degrees_true(123.0),
            ..leeward(&still, &table)
        };
        let found = Rounding { sailing: &sailing, ..r }.best().unwrap();
        assert!(found.best.entry < 1.5 * 2.4 && found.tight_in.behind < 1.0, "{} {}", found.best.entry, found.tight_in.behind);
    }

    /// Every path keeps its clearance and leaves the course mark on its side.
    #[test]
    fn paths_keep_clear() {
        let sailing = sailing(180.0, 0.2);
        let table = TurningTable::assumed();
        // A full turn, and one so small that a wide way in meets the way out far from the course mark.
        let r = leeward(&sailing, &table);
        let small = Rounding { approach: Bearing::degrees_true(150.0), exit: Bearing::degrees_true(130.0), ..r };
        let all = [r, small].map(|r| r.best().unwrap());
        for found in &all {
            assert!(found.by_entry.windows(2).all(|w| w[0].0 < w[1].0));
        }
        let paths = all.iter().flat_map(|f| [&f.best, &f.edges[0], &f.edges[1], &f.tight_in.path, &f.late.path, &f.one_radius.path]);
        let wide = small.path([6.0; 3], 9.0).unwrap();
        for path in paths.chain([&wide]) {
            // The way out goes on straight.
            let [.., x, y] = path.points.as_slice() else { panic!("a path has points") };
            let on = (0..400).map(|k| [y[0] + (y[0] - x[0]) * f64::from(k), y[1] + (y[1] - x[1]) * f64::from(k)]);
            let nearest = path.points.iter().copied().chain(on).map(|p| p[0].hypot(p[1])).fold(f64::MAX, f64::min);
            assert!(nearest > 1.0 - 1e-3, "{nearest}");
            // Round a course mark left to port the boat goes anticlockwise.
            let swept: f64 = path.points.windows(2).map(|w| wrap(w[1][0].atan2(w[1][1]) - w[0][0].atan2(w[0][1]))).sum();
            assert!(swept < 0.0, "{swept}");
        }
    }

    #[test]
    fn what_is_no_rounding_says_so() {
        let sailing = sailing(0.0, 0.0);
        let table = TurningTable::assumed();
        let r = leeward(&sailing, &table);
        let said = |r: Rounding<'_>| r.best().unwrap_err().to_string();
        assert!(said(Rounding { side: Side::Starboard, ..r }).contains("other side"));
        assert!(
            said(Rounding { approach: Bearing::degrees_true(45.0), exit: Bearing::degrees_true(220.0), ..r }).contains("through the wind")
        );
        assert!(said(Rounding { exit: Bearing::degrees_true(5.0), ..r }).contains("makes no way"));
        assert!(said(Rounding { clearance: f64::NAN, ..r }).contains("out of range"));
    }
}
