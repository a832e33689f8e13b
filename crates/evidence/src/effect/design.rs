//! The columns of the model, and which questions they cannot answer.

use std::collections::BTreeSet;

use measure::Warning;
use nalgebra::DMatrix;

use crate::mixed::Rows;
use crate::passes::Passes;

/// A column of which no more than this share is new is taken as said already.
const NEW: f64 = 1e-7;
/// Rows to spare below which wind, boats and position are left out, in this order.
const SPARE: usize = 2;

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Level,
    Sailor,
    Position,
    Wind,
    Setting(usize),
    Boat,
}

/// The columns kept.
pub(super) struct Design {
    columns: Vec<Vec<f64>>,
    /// Setting, and the place of its column.
    pub(super) settings: Vec<(usize, usize)>,
}

/// Unit columns that span what has been said.
#[derive(Default, Clone)]
struct Said(Vec<Vec<f64>>);

impl Said {
    /// Takes a column in if it says something new.
    fn takes(&mut self, column: &[f64]) -> bool {
        let norm = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
        let mut left = column.to_vec();
        // Twice, because once loses digits (Kahan: twice is enough).
        for _ in 0..2 {
            for unit in &self.0 {
                let along: f64 = unit.iter().zip(&left).map(|(u, v)| u * v).sum();
                left.iter_mut().zip(unit).for_each(|(v, u)| *v -= along * u);
            }
        }
        let size = norm(&left);
        let new = size > NEW * norm(column).max(f64::MIN_POSITIVE);
        if new {
            self.0.push(left.iter().map(|v| v / size).collect());
        }
        new
    }
}

/// One column for each label but the first.
fn dummies<'a>(labels: impl Iterator<Item = &'a str> + Clone) -> Vec<Vec<f64>> {
    let names: BTreeSet<&str> = labels.clone().collect();
    names.iter().skip(1).map(|name| labels.clone().map(|label| f64::from(u8::from(label == *name))).collect()).collect()
}

/// A setting from 0 at its lowest to 1 at its highest; none where it was never moved.
fn spread(passes: &Passes, setting: usize) -> Option<Vec<f64>> {
    let values: Vec<f64> = passes.rows.iter().map(|row| row.settings[setting]).collect();
    let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    (high > low).then(|| values.iter().map(|v| (v - low) / (high - low)).collect())
}

impl Design {
    /// The columns that say something new, and in words what cannot be told.
    pub(super) fn of(passes: &Passes, warnings: &mut Vec<Warning>, notes: &mut Vec<String>) -> Self {
        let rows = &passes.rows;
        let sailors = dummies(rows.iter().map(|r| r.sailor.as_str()));
        let boats = dummies(rows.iter().map(|r| r.boat.as_str()));
        let position: Vec<f64> = rows.iter().map(|r| r.position).collect();
        let wind: Vec<f64> = rows.iter().map(|r| r.wind.unwrap_or(0.0)).collect();
        let mean = wind.iter().sum::<f64>() / wind.len() as f64;
        let wind: Vec<f64> = wind.iter().map(|w| w - mean).collect();
        if rows.iter().all(|row| row.wind.is_none()) {
            notes.push("no wind was given, so its changes are in the doubt".to_owned());
        }
        let moved: Vec<Option<Vec<f64>>> = (0..passes.gauges.len()).map(|k| spread(passes, k)).collect();
        let level = vec![1.0; rows.len()];
        let mut columns = vec![(Kind::Level, level.clone())];
        columns.extend(sailors.iter().map(|c| (Kind::Sailor, c.clone())));
        columns.push((Kind::Position, position));
        columns.push((Kind::Wind, wind));
        columns.extend(moved.iter().enumerate().filter_map(|(k, c)| c.clone().map(|c| (Kind::Setting(k), c))));
        columns.extend(boats.iter().map(|c| (Kind::Boat, c.clone())));

        let mut said = Said::default();
        let mut kept: Vec<(Kind, Vec<f64>)> = columns.into_iter().filter(|(_, column)| said.takes(column)).collect();
        for (kind, name) in [(Kind::Wind, "the wind"), (Kind::Boat, "the boats"), (Kind::Position, "who was to windward")] {
            if rows.len() < kept.len() + SPARE && kept.iter().any(|(k, _)| *k == kind) {
                kept.retain(|(k, _)| *k != kind);
                notes.push(format!("there are too few passes to account for {name} as well; it is in the doubt"));
            }
        }
        let with = |sets: &[&Vec<Vec<f64>>]| {
            let mut said = Said::default();
            said.takes(&level);
            sets.iter().flat_map(|set| set.iter()).for_each(|column| {
                said.takes(column);
            });
            said
        };
        if sailors.is_empty() {
            notes.push("one sailor only: the answer holds for this sailor".to_owned());
        } else if boats.iter().any(|column| !with(&[&sailors]).takes(column)) {
            notes.push("the same sailor was always in the same boat, so which of the two was faster cannot be told; a setting that was swapped can".to_owned());
        }
        for (k, gauge) in passes.gauges.iter().enumerate() {
            let Some(column) = &moved[k] else {
                warnings
                    .push(Warning::new(gauge, "it had the same value in every pass, so there is nothing to compare: move it in one boat"));
                continue;
            };
            let told = kept.iter().any(|(kind, _)| *kind == Kind::Setting(k));
            let by_sailor = !with(&[&sailors]).takes(column);
            if !told {
                let why = if by_sailor {
                    "each sailor had a value of their own in every pass, so the setting cannot be told from the sailor: swap and sail again"
                } else {
                    "it was always moved together with something else that was tried, so the two cannot be told apart: move one at a time"
                };
                warnings.push(Warning::new(gauge, why));
            } else if !with(&[&sailors, &boats]).takes(column) {
                let why =
                    "it was always on the same boat, so the answer is about boat and setting together: swap the setting between the boats";
                warnings.push(Warning::new(gauge, why));
            }
        }
        let place = |(at, (kind, _)): (usize, &(Kind, Vec<f64>))| if let Kind::Setting(k) = kind { Some((*k, at)) } else { None };
        let settings = kept.iter().enumerate().filter_map(place).collect();
        Self { columns: kept.into_iter().map(|(_, column)| column).collect(), settings }
    }

    /// The model's rows. A pass draws its own level where at least one has two boats.
    pub(super) fn rows(&self, passes: &Passes, groups: &[Vec<usize>]) -> Rows {
        let n = passes.rows.len();
        let mut group = vec![0; n];
        groups.iter().enumerate().for_each(|(name, rows)| rows.iter().for_each(|row| group[*row] = name));
        let side_by_side = usize::from(groups.iter().any(|rows| rows.len() > 1));
        let response = passes.rows.iter().map(|row| row.vmg).collect();
        Rows {
            response,
            fixed: super::matrix(&self.columns, n),
            group,
            random: DMatrix::repeat(n, side_by_side, 1.0),
            weight: vec![1.0; n],
        }
    }
}
