//! A class solved once for many: settings with bands and costs on a grid of masses and winds for every leg, and between its points
//! by straight lines.
//!
//! Each mass is a line of its own through the winds, every point started from the one before: the same answer on any number of
//! threads. What lies between is bilinear; a limit that begins to bind between two points is met in a straight line there, which is
//! the chart's error (measured in `tests/property/chart.rs`).

use crate::balance::{Control, Status};
use crate::crew::{Sailor, Skill};
use crate::gauge::Gauge;
use crate::setup::{Leg, LegSetup, Request, Setting, Sit};
use measure::WindProfile;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// One leg at one mass and wind: what a card needs of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Wind at 2 m, m/s.
    pub wind: f64,
    /// Averaged speed made good (on a reach, speed), m/s.
    pub made_good: f64,
    /// Speed in the mean wind, m/s.
    pub speed: f64,
    /// Wind angle to the track in the mean wind, rad.
    pub angle: f64,
    /// How far out the body's centre is in the mean wind, and can stay, m.
    pub hike: (f64, f64),
    /// Where the mast stands, rad.
    pub rake: f64,
    /// Depth of the hull's lowest point in the mean wind, m.
    pub draught: f64,
    /// Greatest breach of a limit, in its unit.
    pub breach: f64,
    /// The settings.
    pub settings: Vec<Setting>,
}

impl Cell {
    /// What a card needs of a solved leg in a wind (at 2 m).
    #[must_use]
    pub fn of(setup: &LegSetup, wind: f64) -> Self {
        let mean = setup.mean();
        Self {
            wind,
            made_good: setup.made_good,
            speed: mean.whole.speed,
            angle: mean.controls[Control::WindAngle.index()],
            hike: (mean.whole.hike, setup.limits.hike),
            rake: mean.controls[Control::Rake.index()],
            draught: mean.whole.afloat.draught,
            breach: setup.breach,
            settings: setup.settings.clone(),
        }
    }

    /// How to sit.
    #[must_use]
    pub fn sit(&self) -> Sit {
        Sit::of(self.hike.0, self.hike.1)
    }

    /// A setting by gauge.
    #[must_use]
    pub fn setting(&self, gauge: Gauge) -> Option<&Setting> {
        self.settings.iter().find(|s| s.gauge == gauge)
    }

    /// Between two cells, `u` of the way; speeds go as shares of the wind, which bend less. A gauge that one of them lacks is left
    /// out.
    fn between(&self, other: &Self, u: f64) -> Self {
        let mix = |a: f64, b: f64| a + u * (b - a);
        let wind = mix(self.wind, other.wind);
        let settings = self.settings.iter().filter_map(|a| {
            let b = other.setting(a.gauge)?;
            Some(Setting {
                value: mix(a.value, b.value),
                low: mix(a.low, b.low),
                high: mix(a.high, b.high),
                cost_low: mix(a.cost_low, b.cost_low),
                cost_high: mix(a.cost_high, b.cost_high),
                matters: if u < 0.5 { a.matters } else { b.matters },
                ..*a
            })
        });
        Self {
            wind,
            made_good: wind * mix(self.made_good / self.wind, other.made_good / other.wind),
            speed: wind * mix(self.speed / self.wind, other.speed / other.wind),
            angle: mix(self.angle, other.angle),
            hike: (mix(self.hike.0, other.hike.0), mix(self.hike.1, other.hike.1)),
            rake: mix(self.rake, other.rake),
            draught: mix(self.draught, other.draught),
            breach: mix(self.breach, other.breach),
            settings: settings.collect(),
        }
    }
}

/// A class solved on a grid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Chart {
    /// Masses, kg, rising.
    pub masses: Vec<f64>,
    /// Winds at 2 m, m/s, rising.
    pub winds: Vec<f64>,
    /// Which legs were solved.
    pub legs: Vec<Leg>,
    /// By leg (of those), then mass, then wind; a status where there is no state.
    pub cells: Vec<Result<Cell, Status>>,
}

impl Chart {
    /// Solves the grid. The request gives boat, water, tack, chop, gusts and the sailors' skill; its own mass and wind are not used.
    /// The beat goes first where it is among the legs: it sets the mast. `step` is told each point solved and answers whether to go on; `None` when it says no.
    pub fn solved(
        request: &Request<'_>,
        skill: Skill,
        legs: &[Leg],
        masses: &[f64],
        winds: &[WindProfile],
        step: &(impl Fn() -> bool + Sync),
    ) -> Option<Self> {
        let line = |mass: &f64| -> Option<Vec<Vec<Result<Cell, Status>>>> {
            let mut request = Request { sailor: Sailor::of(*mass, skill), bands: true, ..*request };
            let mut last: Vec<Option<LegSetup>> = vec![None; legs.len()];
            let mut out = Vec::with_capacity(winds.len());
            for wind in winds {
                request.conditions.wind = *wind;
                let mut rake = 0.0;
                let mut cells = Vec::with_capacity(legs.len());
                for (leg, last) in legs.iter().zip(&mut last) {
                    let answer = request.leg_near(*leg, rake, last.as_ref());
                    let cell = match &answer {
                        Ok(setup) if setup.converged => Ok(Cell::of(setup, wind.at_meter)),
                        Ok(_) => Err(Status::Unsettled),
                        Err(status) => Err(*status),
                    };
                    if let (Leg::Beat, Ok(beat)) = (*leg, &answer) {
                        rake = beat.mean().controls[Control::Rake.index()];
                    }
                    *last = answer.ok();
                    cells.push(cell);
                }
                out.push(cells);
                if !step() {
                    return None;
                }
            }
            Some(out)
        };
        let lines: Vec<_> = masses.par_iter().map(line).collect::<Option<_>>()?;
        let cells = (0..legs.len()).flat_map(|k| lines.iter().flatten().map(move |cells| cells[k].clone())).collect();
        Some(Self { masses: masses.to_vec(), winds: winds.iter().map(|w| w.at_meter).collect(), legs: legs.to_vec(), cells })
    }

    /// A leg at a mass and a wind (at 2 m), by straight lines; outside the grid, that of its edge.
    ///
    /// # Errors
    /// The status of the nearest point where one around it has no state; that nothing was solved where the leg is not in it.
    pub fn at(&self, leg: Leg, mass: f64, wind: f64) -> Result<Cell, Status> {
        let leg = self.legs.iter().position(|l| *l == leg).ok_or(Status::Unsettled)?;
        let (i, u) = place(&self.masses, mass).ok_or(Status::Unsettled)?;
        let (j, v) = place(&self.winds, wind).ok_or(Status::Unsettled)?;
        let cell = |di: usize, dj: usize| -> &Result<Cell, Status> {
            let (i, j) = ((i + di).min(self.masses.len() - 1), (j + dj).min(self.winds.len() - 1));
            &self.cells[(leg * self.masses.len() + i) * self.winds.len() + j]
        };
        match (cell(0, 0), cell(0, 1), cell(1, 0), cell(1, 1)) {
            (Ok(a), Ok(b), Ok(c), Ok(d)) => Ok(a.between(b, v).between(&c.between(d, v), u)),
            _ => cell(usize::from(u > 0.5), usize::from(v > 0.5)).clone(),
        }
    }
}

/// Which step of a rising list a value lies in, and how far along.
fn place(list: &[f64], value: f64) -> Option<(usize, f64)> {
    let last = list.len().checked_sub(1)?;
    let i = list.iter().rposition(|x| *x <= value).unwrap_or(0).min(last.saturating_sub(1));
    let width = list.get(i + 1).map_or(1.0, |next| next - list[i]);
    Some((i, ((value - list[i]) / width).clamp(0.0, 1.0)))
}
