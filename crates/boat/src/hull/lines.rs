//! The lines: sections of the hull as polygons, placed where an integral along her needs them.
//!
//! The stations of a class file are joined by smooth curves (`curve.rs`) and cut again at the nodes of Gauss and Legendre,
//! whose sum is exact for smooth hulls and whose weights do not alternate. The sheer is closed as a deck. Lines that are
//! given as a function go the same way (tests, `judge hull`).

use super::curve::Curve;
use crate::class::{Class, Station};
use crate::constants::Constants;
use core::f64::consts::PI;

/// Sections cut from a class file's lines. More move the volume by less than 0.02 % (a test holds them to that).
const SECTIONS: usize = 28;
/// Points to a station when a file gives its stations different numbers of them.
const POINTS: usize = 9;

/// A hull ready to float: sections fore and aft, transom and bow.
#[derive(Debug, Clone, PartialEq)]
pub struct HullForm {
    /// Transom, from the transom (0) of the class file, m.
    pub aft: f64,
    /// Bow, m from the transom.
    pub forward: f64,
    /// Where sinkage is read, m from the transom: half-way.
    pub pivot_x: f64,
    /// Greatest breadth, m.
    pub breadth: f64,
    /// Lowest point of the bow: x, z.
    pub bow: [f64; 2],
    /// Points of the sheer: x, half-breadth, z.
    pub sheer: Vec<[f64; 3]>,
    /// Effective length per root of the second moment of volume.
    pub(super) length_factor: f64,
    pub(super) sections: Vec<Section>,
    pub(super) transom: Section,
}

/// A section: its outline from the leeward sheer down and up to the windward sheer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Section {
    pub(super) x: f64,
    /// What it counts for along the hull, m.
    pub(super) weight: f64,
    pub(super) outline: Vec<[f64; 2]>,
    /// Skin of each edge of the outline per metre of hull, m: its length, more where the hull narrows.
    pub(super) skin: Vec<f64>,
}

impl Section {
    /// From a half section and how it changes along the hull: keel to sheer.
    fn new(x: f64, weight: f64, half: &[[f64; 2]], change: &[[f64; 2]]) -> Self {
        let mirror = |p: &[f64; 2]| [-p[0], p[1]];
        let both = |h: &[[f64; 2]]| h.iter().rev().copied().chain(h.iter().map(mirror)).collect::<Vec<_>>();
        let (outline, change) = (both(half), both(change));
        let skin = outline
            .windows(2)
            .zip(change.windows(2))
            .map(|(p, c)| {
                let (dy, dz) = (p[1][0] - p[0][0], p[1][1] - p[0][1]);
                let (cy, cz) = (0.5 * (c[0][0] + c[1][0]), 0.5 * (c[0][1] + c[1][1]));
                // Length of the cross product of the two directions in the skin.
                dy.hypot(dz).hypot(cy * dz - cz * dy)
            })
            .collect();
        Self { x, weight, outline, skin }
    }
}

impl HullForm {
    /// The hull of a class.
    #[must_use]
    pub fn of(class: &Class, c: &Constants) -> Self {
        Self::from_class(class, c, SECTIONS)
    }

    /// The hull of a class cut into a number of sections.
    #[must_use]
    pub fn from_class(class: &Class, c: &Constants, sections: usize) -> Self {
        let stations = &class.hull.stations;
        let count = stations.first().map_or(0, |s| s.points.len());
        let even = stations.iter().all(|s| s.points.len() == count);
        let rows: Vec<Vec<[f64; 2]>> = stations.iter().map(|s| if even { s.points.clone() } else { spread(s, POINTS) }).collect();
        let x: Vec<f64> = stations.iter().map(|s| s.x).collect();
        let curves: Vec<[Curve; 2]> = (0..rows.first().map_or(0, Vec::len))
            .map(|j| core::array::from_fn(|k| Curve::through(&x, &rows.iter().map(|r| r[j][k]).collect::<Vec<_>>())))
            .collect();
        let ends = (x.first().copied().unwrap_or(0.0), x.last().copied().unwrap_or(0.0));
        Self::from_offsets(ends, sections, c, |x| curves.iter().map(|[y, z]| [y.at(x), z.at(x)]).collect())
    }

    /// A hull between two ends, m, whose half sections a function gives: half-breadth and height, keel to sheer, as many
    /// points everywhere.
    #[must_use]
    pub fn from_offsets((aft, forward): (f64, f64), sections: usize, c: &Constants, half: impl Fn(f64) -> Vec<[f64; 2]>) -> Self {
        let step = 1e-4 * (forward - aft);
        let change = |x: f64| {
            let (a, b) = ((x - step).max(aft), (x + step).min(forward));
            let width = (b - a).max(1e-12);
            half(a).iter().zip(half(b)).map(|(p, q)| [(q[0] - p[0]) / width, (q[1] - p[1]) / width]).collect::<Vec<_>>()
        };
        let cut = |x: f64, weight: f64| Section::new(x, weight, &half(x), &change(x));
        let span = 0.5 * (forward - aft);
        let sections: Vec<Section> = nodes(sections).into_iter().map(|(t, weight)| cut(aft + span * (1.0 + t), span * weight)).collect();
        let breadth = sections.iter().flat_map(|s| &s.outline).fold(0.0, |b: f64, p| b.max(2.0 * p[0]));
        let sheer = [aft].into_iter().chain(sections.iter().map(|s| s.x)).chain([forward]);
        let sheer = sheer.filter_map(|x| half(x).last().map(|p| [x, p[0], p[1]])).collect();
        let low = half(forward).iter().fold(f64::INFINITY, |z, p| z.min(p[1]));
        Self {
            aft,
            forward,
            pivot_x: aft + span,
            breadth,
            bow: [forward, if low.is_finite() { low } else { 0.0 }],
            sheer,
            length_factor: c.length_factor,
            transom: cut(aft, 0.0),
            sections,
        }
    }
}

/// A station's outline with points evenly along its girth.
fn spread(station: &Station, count: usize) -> Vec<[f64; 2]> {
    let mut along = vec![0.0];
    for p in station.points.windows(2) {
        along.push(along[along.len() - 1] + (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]));
    }
    let girth = along[along.len() - 1];
    (0..count)
        .map(|i| {
            let at = girth * i as f64 / (count - 1) as f64;
            let k = along.partition_point(|a| *a < at).clamp(1, (along.len() - 1).max(1)) - 1;
            let Some((a, b)) = station.points.get(k).zip(station.points.get(k + 1)) else {
                return station.points.first().copied().unwrap_or([0.0; 2]);
            };
            let t = ((at - along[k]) / (along[k + 1] - along[k]).max(1e-12)).clamp(0.0, 1.0);
            [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
        })
        .collect()
}

/// Nodes in -1 to 1 and weights of Gauss and Legendre, rising. Roots of the Legendre polynomial by Newton's method.
fn nodes(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .rev()
        .map(|i| {
            let mut t = (PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..8 {
                let (mut p, mut before) = (1.0, 0.0);
                for k in 0..n {
                    let next = ((2.0 * k as f64 + 1.0) * t * p - k as f64 * before) / (k as f64 + 1.0);
                    before = p;
                    p = next;
                }
                slope = n as f64 * (t * p - before) / (t * t - 1.0);
                t -= p / slope;
            }
            (t, 2.0 / ((1.0 - t * t) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_integrate_powers_exactly() {
        let n = nodes(7);
        assert!(n.windows(2).all(|w| w[0].0 < w[1].0));
        for power in 0..14 {
            let sum: f64 = n.iter().map(|(t, w)| w * t.powi(power)).sum();
            let exact = if power % 2 == 0 { 2.0 / f64::from(power + 1) } else { 0.0 };
            assert!((sum - exact).abs() < 1e-14, "{power}: {sum}");
        }
    }

    #[test]
    fn points_are_spread_along_the_girth() {
        let s = Station { x: 0.0, points: vec![[0.0, 0.0], [0.4, 0.0], [0.4, 0.4]] };
        let p = spread(&s, 5);
        assert_eq!(p[0], [0.0, 0.0]);
        assert!((p[1][0] - 0.2).abs() < 1e-12 && (p[3][1] - 0.2).abs() < 1e-12 && p[4] == [0.4, 0.4]);
    }
}
