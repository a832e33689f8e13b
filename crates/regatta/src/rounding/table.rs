//! How a boat turns, as a plain table: what a quarter of a turn costs by the speed she goes in with and the rate she is turned at.

use crate::Error;
use measure::angle::DEGREE;

/// A quarter turn, rad.
const QUARTER: f64 = core::f64::consts::FRAC_PI_2;

/// One turn through a right angle at a steady rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Speed before it, m/s.
    pub speed_in: f64,
    /// How fast the boat is turned, rad/s.
    pub rate: f64,
    /// Speed lost to the turning itself, beside what the new course does to her speed, m/s.
    pub speed_lost: f64,
}

impl Turn {
    /// How long it takes, s.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        QUARTER / self.rate
    }
    /// Its mean radius, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        (self.speed_in - 0.5 * self.speed_lost) / self.rate
    }
}

/// Turns at several speeds and rates.
#[derive(Debug, Clone, PartialEq)]
pub struct TurningTable {
    /// By speed; within it by rate.
    speeds: Vec<(f64, Vec<Turn>)>,
}

impl TurningTable {
    /// From turns in any order.
    ///
    /// # Errors
    /// Where there is none, or a turn has no sensible speed, rate or loss.
    pub fn of(turns: &[Turn]) -> Result<Self, Error> {
        let mut turns = turns.to_vec();
        for t in &turns {
            let good = (0.05..20.0).contains(&t.speed_in) && (0.01..10.0).contains(&t.rate) && (0.0..t.speed_in).contains(&t.speed_lost);
            if !good {
                return Err(Error::new(
                    "turning table",
                    format!("a turn at {} m/s and {:.0} degrees a second loses {} m/s", t.speed_in, t.rate / DEGREE, t.speed_lost),
                    "give a speed, a rate above 0, and a loss below the speed",
                ));
            }
        }
        if turns.is_empty() {
            return Err(Error::new(
                "turning table",
                "it has no turn in it",
                "give one turn at least: speed in, rate, speed lost in a right angle",
            ));
        }
        turns.sort_by(|a, b| a.speed_in.total_cmp(&b.speed_in).then(a.rate.total_cmp(&b.rate)));
        let speeds = turns.chunk_by(|a, b| a.speed_in == b.speed_in).map(|own| (own[0].speed_in, own.to_vec())).collect();
        Ok(Self { speeds })
    }

    /// A small pram, for want of a better: in a quarter turn she loses 6, 14, 25 and 45 % of her speed on radii of 8, 4.5, 3 and 2 m. Assumed.
    #[must_use]
    pub fn assumed() -> Self {
        let row = |speed_in: f64| {
            let turns = [(8.0, 0.06), (4.5, 0.14), (3.0, 0.25), (2.0, 0.45)];
            (
                speed_in,
                turns
                    .map(|(radius, lost)| Turn { speed_in, rate: speed_in * (1.0 - 0.5 * lost) / radius, speed_lost: lost * speed_in })
                    .to_vec(),
            )
        };
        Self { speeds: [0.75, 1.5, 2.25].map(row).to_vec() }
    }

    /// The same with every loss multiplied, at most to nine tenths of the speed: what if she loses more or less.
    #[must_use]
    pub fn scaled(&self, by: f64) -> Self {
        let mut table = self.clone();
        for turn in table.speeds.iter_mut().flat_map(|(_, turns)| turns) {
            turn.speed_lost = (turn.speed_lost * by).clamp(0.0, 0.9 * turn.speed_in);
        }
        table
    }

    /// All turns.
    pub fn turns(&self) -> impl Iterator<Item = &Turn> {
        self.speeds.iter().flat_map(|(_, turns)| turns)
    }

    /// A value at a speed from that at each speed of the table; below the least in proportion where `falls`, else held.
    fn at(&self, speed: f64, falls: bool, value: impl Fn(&[Turn]) -> f64) -> f64 {
        let i = self.speeds.partition_point(|(s, _)| *s <= speed);
        let of = |i: usize| value(&self.speeds[i].1);
        if i == 0 {
            return of(0) * if falls { (speed / self.speeds[0].0).max(0.0) } else { 1.0 };
        }
        if i == self.speeds.len() {
            return of(i - 1);
        }
        let u = (speed - self.speeds[i - 1].0) / (self.speeds[i].0 - self.speeds[i - 1].0);
        of(i - 1) * (1.0 - u) + of(i) * u
    }

    /// The fastest she is turned at a speed, rad/s.
    #[must_use]
    pub fn fastest(&self, speed: f64) -> f64 {
        self.at(speed, true, |turns| turns.last().map_or(0.0, |t| t.rate)).max(1e-3)
    }

    /// The share of her speed lost in each radian, as a logarithm. In the limit of a slow turn nothing is lost.
    #[must_use]
    pub fn lost(&self, speed: f64, rate: f64) -> f64 {
        // The rate is taken as a share of the fastest, so that a slow boat on the same radius loses the same share.
        let share = (rate / self.fastest(speed)).min(1.0);
        self.at(speed, false, |turns| {
            let most = turns.last().map_or(1.0, |t| t.rate);
            let loss = |t: &Turn| -(1.0 - t.speed_lost / t.speed_in).ln() / QUARTER;
            let i = turns.partition_point(|t| t.rate <= share * most);
            let low = if i == 0 { (0.0, 0.0) } else { (turns[i - 1].rate, loss(&turns[i - 1])) };
            match turns.get(i) {
                Some(next) => low.1 + (loss(next) - low.1) * (share * most - low.0) / (next.rate - low.0).max(1e-12),
                None => low.1,
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_turn_gives_its_own_row_back() {
        let table = TurningTable::assumed();
        for turn in table.turns() {
            let kept = (-table.lost(turn.speed_in, turn.rate) * QUARTER).exp();
            assert!((turn.speed_in * (1.0 - kept) - turn.speed_lost).abs() < 1e-12, "{turn:?}");
            assert!(turn.rate <= table.fastest(turn.speed_in) + 1e-12);
        }
        assert!((table.fastest(0.3) / 0.3 - table.fastest(0.75) / 0.75).abs() < 1e-12);
        assert!(table.lost(1.2, 1e-9) < 1e-6);
        let radius = table.turns().map(Turn::radius).fold(f64::MAX, f64::min);
        assert!((radius - 2.0).abs() < 1e-12);
    }

    #[test]
    fn a_turn_that_cannot_be_is_told() {
        assert!(TurningTable::of(&[]).unwrap_err().to_string().contains("no turn"));
        let bad = Turn { speed_in: 1.0, rate: 0.5, speed_lost: 1.2 };
        assert!(TurningTable::of(&[bad]).unwrap_err().to_string().contains("loses 1.2"));
        assert!(TurningTable::of(&[Turn { rate: f64::NAN, ..bad }]).is_err());
    }
}
