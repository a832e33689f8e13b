//! A rounding that was sailed beside the best path: how far behind it she is, and what a course mark that lies elsewhere makes of that.
//!
//! Both are timed from line to line of equal time to go, as paths are: from the line through her first place to the one through her last place.

use super::path::Ground;
use super::{Path, Rounding, stuck};
use crate::Error;

/// Fewest places that tell where she came from, how she turned and where she went.
const FEWEST: usize = 6;
/// Her speed at the end is the mean over so many seconds.
const END: f64 = 2.5;

/// What was sailed against the best path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// Metres made good on the way out that she is behind; below zero ahead.
    pub behind: f64,
    /// By how many metres that changes at most for each metre that the course mark lies elsewhere.
    pub per_mark: f64,
}

impl Rounding<'_> {
    /// Her way, seconds and places (m east and north of the course mark), from the straight way in to the straight way out, against a path.
    ///
    /// # Errors
    /// As [`Rounding::best`], and a way of fewer than six places.
    pub fn beside(&self, path: &Path, sailed: &[(f64, [f64; 2])]) -> Result<Beside, Error> {
        self.turns()?;
        let ground = Ground::of(self).map_err(stuck)?;
        let (Some(first), Some(last), true) = (sailed.first(), sailed.last(), sailed.len() >= FEWEST) else {
            return Err(short(sailed.len()));
        };
        let before = sailed.iter().rev().find(|p| last.0 - p.0 >= END).unwrap_or(first);
        let speed = (last.1[0] - before.1[0]).hypot(last.1[1] - before.1[1]) / (last.0 - before.0).max(1e-3);
        let cost = ground.sailed(first.1, last.1, last.0 - first.0, speed);
        let made_good = ground.made_good();
        Ok(Beside { behind: (cost - path.cost) * made_good, per_mark: ground.moved() * made_good })
    }
}

fn short(places: usize) -> Error {
    Error::new("sailed rounding", format!("{places} places"), "give the way in, the turn and the way out, a place each second")
}

#[cfg(test)]
mod tests {
    use super::super::tests::{leeward, sailing};
    use super::super::{Path, TurningTable};

    /// A path by the second.
    fn by_second(path: &Path) -> Vec<(f64, [f64; 2])> {
        path.seconds.iter().copied().zip(path.points.iter().copied()).collect()
    }

    /// The model's own paths, sailed second by second, are as far behind the best one as the model says.
    #[test]
    fn a_path_of_the_model_is_as_far_behind_as_it_says() {
        // The way out ends while she still gathers a little way.
        const WITHIN: f64 = 0.1;
        let (sailing, table) = (sailing(0.0, 0.0), TurningTable::assumed());
        let asked = leeward(&sailing, &table);
        let found = asked.best().unwrap();
        for (path, behind) in [
            (&found.best, 0.0),
            (&found.tight_in.path, found.tight_in.behind),
            (&found.late.path, found.late.behind),
            (&found.one_radius.path, found.one_radius.behind),
        ] {
            let told = asked.beside(&found.best, &by_second(path)).unwrap();
            assert!((told.behind - behind).abs() < WITHIN, "{} against {behind}", told.behind);
        }
        // Five seconds of standing still cost what is made good in them.
        let mut stood = by_second(&found.best);
        let middle = stood.len() / 2;
        stood[middle..].iter_mut().for_each(|p| p.0 += 5.0);
        let told = asked.beside(&found.best, &stood).unwrap();
        assert!((told.behind - 5.0 * found.made_good).abs() < WITHIN, "{told:?}");
        // A course mark a metre further down the run would have made her way longer by it both ways.
        let moved: Vec<_> = by_second(&found.best).iter().map(|(t, p)| (*t, [p[0], p[1] - 1.0])).collect();
        let off = asked.beside(&found.best, &moved).unwrap().behind;
        assert!(off.abs() <= told.per_mark + WITHIN && off.abs() > 0.9 * told.per_mark, "{off} {}", told.per_mark);
        assert!(asked.beside(&found.best, &moved[..3]).is_err());
    }
}
