//! How she floats: volume, centre, wetted skin, waterplane and transom at any heel, sinkage and trim.
//!
//! Each section is cut by the water edge by edge. With the integrals of Green's theorem taken over `dY`, the edge that the
//! water's surface adds counts for nothing, so no polygon needs closing and nothing jumps as corners dip. Derivatives are
//! those of the surface that is swept (Reynolds), exact and as cheap as the values. Sections move in their own plane: trim
//! lifts points and turns nothing, as [`Attitude`] has it. Valid for any heel below 90 degrees; water over the
//! sheer is kept out by the deck.

use super::lines::{HullForm, Section};
use crate::load::{Attitude, Load};
use crate::scalar::Real;
use measure::fluid::Fluid;
use measure::quantity::GRAVITY;

/// Half-width over which skin goes from wet to dry, m, so that flat bottoms come out of the water smoothly.
const WET_EDGE: f64 = 0.003;
/// Width over which the transom's lowest corner changes from one to another, m.
const CORNER_WIDTH: f64 = 0.004;
/// Keeps ratios of a dry section finite: breadth, m, and area, m2.
const DRY: [f64; 2] = [1e-6, 1e-12];

/// A hull in the water. Places in horizontal axes: x from the transom, y to leeward, z up from the water, m.
#[derive(Debug, Clone, Copy)]
pub struct Afloat<D> {
    /// Displaced volume, m3.
    pub volume: D,
    /// Its centre.
    pub centre: [D; 3],
    /// Wetted skin without transom, bow and deck, m2.
    pub wetted_area: D,
    /// Length for wave resistance, m: from the second moment of the volume along the hull, so that a corner which dips
    /// does not lengthen the boat.
    pub length: D,
    /// Area of the waterplane, m2.
    pub waterplane_area: D,
    /// Its second moment about its own athwartships axis, m4: what a trim of one radian moves.
    pub waterplane_second: D,
    /// Immersed area of the transom, m2.
    pub transom_area: D,
    /// Depth of water summed over it, m3: the push of still water, over density and gravity.
    pub transom_push: D,
    /// Depth of the transom's lowest point, m; negative when it is clear.
    pub transom_depth: D,
    /// Depth of the bow's lowest point, m; negative when it is clear.
    pub bow_depth: D,
    /// Area from the side, m2: mean draught of the sections along the hull.
    pub side_area: D,
    /// Its centre from the transom, m.
    pub side_centre: D,
    /// Mean draught squared along the hull, m3.
    pub draught_square: D,
    /// The same weighted with how the centre of the sections bends to leeward, m3.
    pub draught_square_bend: D,
    /// Waterline from end to end, m, for telling only: it jumps.
    pub waterline_length: f64,
    /// Depth of the deepest section's lowest point, m.
    pub draught: f64,
}

/// A boat at rest in balance.
#[derive(Debug, Clone, Copy)]
pub struct Floating {
    /// Sinkage, m: height of the water above the base line at the hull's `pivot_x`.
    pub sinkage: f64,
    /// Trim, rad, bow up.
    pub trim: f64,
    /// The hull there.
    pub afloat: Afloat<f64>,
    /// How far the buoyancy acts to leeward of the weight, m: GZ.
    pub righting_arm: f64,
    /// Least height of the sheer above the water, m.
    pub freeboard: f64,
}

/// A value (`K` = 1), or one and its slopes in heel, sinkage and trim (4).
type Slopes<const K: usize> = [f64; K];
/// With slopes.
const ALL: usize = 4;

fn add<const K: usize>(sum: &mut Slopes<K>, k: f64, x: &Slopes<K>) {
    for (s, v) in sum.iter_mut().zip(x) {
        *s += k * v;
    }
}

fn product<const K: usize>(a: &Slopes<K>, b: &Slopes<K>) -> Slopes<K> {
    core::array::from_fn(|k| if k == 0 { a[0] * b[0] } else { a[k] * b[0] + a[0] * b[k] })
}

/// The first of a value and its slopes.
fn first<const K: usize>(all: [f64; ALL]) -> Slopes<K> {
    core::array::from_fn(|k| all[k])
}

fn ratio<const K: usize>(a: &Slopes<K>, b: &Slopes<K>) -> Slopes<K> {
    let (over, value) = (b[0].recip(), a[0] / b[0]);
    core::array::from_fn(|k| if k == 0 { value } else { (a[k] - value * b[k]) * over })
}

/// The water's place against the hull.
#[derive(Clone, Copy)]
struct Water {
    sin: f64,
    cos: f64,
    sinkage: f64,
    trim: f64,
    pivot_x: f64,
}

/// One section in the water.
struct Cut<const K: usize> {
    /// Area, and its first moments to leeward and up.
    area: Slopes<K>,
    across: Slopes<K>,
    up: Slopes<K>,
    /// Breadth at the water.
    breadth: Slopes<K>,
    /// Wetted skin per metre of hull.
    skin: Slopes<K>,
    lowest: f64,
}

impl<const K: usize> Cut<K> {
    fn of(section: &Section, w: Water) -> Self {
        let lever = section.x - w.pivot_x;
        let height = w.sinkage - lever * w.trim;
        let place = |p: &[f64; 2]| (p[0] * w.cos + p[1] * w.sin, p[1] * w.cos - p[0] * w.sin - height);
        let (mut area, mut across, mut up) = (0.0, 0.0, 0.0);
        // Breadth at the water, its first and second moment, and the breadth's slopes in heel and sinkage.
        let (mut b, mut b1, mut b2, mut b_heel, mut b_sink) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let (mut skin, mut skin_heel, mut skin_sink) = (0.0, 0.0, 0.0);
        let mut lowest = f64::INFINITY;
        let (mut y1, mut z1) = section.outline.last().map_or((0.0, 1.0), place);
        let root = |z: f64| (z * z + WET_EDGE * WET_EDGE).sqrt();
        let mut r1 = root(z1);
        let mut rise1 = z1 / r1;
        for (i, p) in section.outline.iter().enumerate() {
            let (y2, z2) = place(p);
            let r2 = root(z2);
            let rise2 = if K > 1 { z2 / r2 } else { 0.0 };
            lowest = lowest.min(z2);
            // The first edge is the deck: it holds water out and is not skin.
            if i > 0 {
                let (sum, over) = (z1 + z2, (r1 + r2).recip());
                let s = section.skin[i - 1];
                skin += 0.5 * s * (1.0 - sum * over);
                if K > 1 {
                    let slope = |rise: f64| -0.5 * s * over * (1.0 - sum * over * rise);
                    let (g1, g2) = (slope(rise1), slope(rise2));
                    skin_heel -= g1 * y1 + g2 * y2;
                    skin_sink -= g1 + g2;
                }
            }
            let (wet1, wet2) = (z1 < 0.0, z2 < 0.0);
            if wet1 || wet2 {
                let (mut ya, mut za, mut yb, mut zb) = (y1, z1, y2, z2);
                if wet1 != wet2 {
                    let m = (y2 - y1) / (z2 - z1);
                    let at = y1 - z1 * m;
                    // Going down the outline enters the water, coming up leaves it.
                    let side = if wet2 { 1.0 } else { -1.0 };
                    if wet2 {
                        (ya, za) = (at, 0.0)
                    } else {
                        (yb, zb) = (at, 0.0)
                    }
                    b += side * at;
                    b1 += side * 0.5 * at * at;
                    b2 += side * at * at * at / 3.0;
                    b_heel += side * (height + at * m);
                    b_sink += side * m;
                }
                let d = yb - ya;
                area += 0.5 * d * (za + zb);
                across += d * (ya * (2.0 * za + zb) + yb * (za + 2.0 * zb)) / 6.0;
                up += d * (za * za + za * zb + zb * zb) / 6.0;
            }
            (y1, z1, r1, rise1) = (y2, z2, r2, rise2);
        }
        Self {
            area: first([area, b1, b, -lever * b]),
            across: first([across, up + height * area + b2, b1, -lever * b1]),
            up: first([up, -across, -area, lever * area]),
            breadth: first([b, b_heel, b_sink, -lever * b_sink]),
            skin: first([skin, skin_heel, skin_sink, -lever * skin_sink]),
            lowest,
        }
    }
}

/// Everything of a hull at one place of the water, with slopes.
struct Whole<const K: usize> {
    outputs: [Slopes<K>; OUTPUTS],
    waterline_length: f64,
    draught: f64,
}

const OUTPUTS: usize = 15;

impl HullForm {
    /// The attitude of this hull.
    pub fn attitude<D: Real>(&self, heel: D, sinkage: D, trim: D) -> Attitude<D> {
        Attitude::new(heel, sinkage, trim, self.pivot_x)
    }

    /// The hull in the water: heel (rad, to leeward), sinkage (m, the water above the base line at `pivot_x`), trim (rad, bow up).
    pub fn afloat<D: Real>(&self, heel: D, sinkage: D, trim: D) -> Afloat<D> {
        let (at, x) = ([heel.value(), sinkage.value(), trim.value()], [heel, sinkage, trim]);
        let (outputs, waterline_length, draught) = if D::DIRECTIONS == 0 {
            let whole = self.whole::<1>(at);
            (whole.outputs.map(|[value]| D::from(value)), whole.waterline_length, whole.draught)
        } else {
            let whole = self.whole::<ALL>(at);
            (whole.outputs.map(|o| D::joined(o[0], &o[1..], &x)), whole.waterline_length, whole.draught)
        };
        let [
            volume,
            cx,
            cy,
            cz,
            wetted_area,
            length,
            waterplane_area,
            waterplane_second,
            transom_area,
            transom_push,
            transom_depth,
            side_area,
            side_centre,
            draught_square,
            draught_square_bend,
        ] = outputs;
        Afloat {
            volume,
            centre: [cx, cy, cz],
            wetted_area,
            length,
            waterplane_area,
            waterplane_second,
            transom_area,
            transom_push,
            transom_depth,
            bow_depth: sinkage - heel.cos() * self.bow[1] - trim * (self.bow[0] - self.pivot_x),
            side_area,
            side_centre,
            draught_square,
            draught_square_bend,
            waterline_length,
            draught,
        }
    }

    fn whole<const K: usize>(&self, [heel, sinkage, trim]: [f64; 3]) -> Whole<K> {
        let (sin, cos) = heel.sin_cos();
        let water = Water { sin, cos, sinkage, trim, pivot_x: self.pivot_x };
        let zero = [0.0; K];
        let (mut v, mut vx, mut vxx, mut vy, mut vz, mut skin) = (zero, zero, zero, zero, zero, zero);
        let (mut plane, mut plane_x, mut plane_xx) = (zero, zero, zero);
        let (mut side, mut side_x, mut square, mut bend) = (zero, zero, zero, zero);
        let mut before: Option<(Slopes<K>, Slopes<K>, f64, f64)> = None;
        let (mut wet_from, mut wet_to, mut draught) = (f64::INFINITY, f64::NEG_INFINITY, 0.0f64);
        // Where the lowest point of the sections meets the water between two of them.
        let mut meets = |a: (f64, f64), b: (f64, f64)| {
            if (a.1 < 0.0) != (b.1 < 0.0) {
                let x = a.0 - a.1 * (b.0 - a.0) / (b.1 - a.1);
                wet_from = wet_from.min(x);
                wet_to = wet_to.max(x);
            }
            for p in [a, b] {
                if p.1 < 0.0 {
                    wet_from = wet_from.min(p.0);
                    wet_to = wet_to.max(p.0);
                }
            }
        };
        let transom = Cut::<K>::of(&self.transom, water);
        let mut last = (self.aft, transom.lowest);
        for s in &self.sections {
            let (cut, k, x) = (Cut::<K>::of(s, water), s.weight, s.x);
            add(&mut v, k, &cut.area);
            add(&mut vx, k * x, &cut.area);
            add(&mut vxx, k * x * x, &cut.area);
            add(&mut vy, k, &cut.across);
            add(&mut vz, k, &cut.up);
            add(&mut skin, k, &cut.skin);
            add(&mut plane, k, &cut.breadth);
            add(&mut plane_x, k * x, &cut.breadth);
            add(&mut plane_xx, k * x * x, &cut.breadth);
            let mut breadth = cut.breadth;
            breadth[0] += DRY[0];
            let mut area = cut.area;
            area[0] += DRY[1];
            let (draft, centre) = (ratio(&cut.area, &breadth), ratio(&cut.across, &area));
            add(&mut side, k, &draft);
            add(&mut side_x, k * x, &draft);
            add(&mut square, k, &product(&draft, &draft));
            if let Some((draft_before, centre_before, ..)) = &before {
                let step = core::array::from_fn(|j| centre[j] - centre_before[j]);
                add(&mut bend, 1.0, &product(&product(&draft, draft_before), &step));
            }
            before = Some((draft, centre, x, cut.lowest));
            draught = draught.max(-cut.lowest);
            meets(last, (x, cut.lowest));
            last = (x, cut.lowest);
        }
        let bow = self.bow[1] * cos - sinkage + (self.bow[0] - self.pivot_x) * trim;
        meets(last, (self.forward, bow));
        let mut held = v;
        held[0] += DRY[1];
        let mut held_side = side;
        held_side[0] += DRY[1];
        let mut held_plane = plane;
        held_plane[0] += DRY[1];
        let (cx, cy, cz) = (ratio(&vx, &held), ratio(&vy, &held), ratio(&vz, &held));
        let mut spread = ratio(&vxx, &held);
        add(&mut spread, -1.0, &product(&cx, &cx));
        let radius = (spread[0].max(0.0) + DRY[1]).sqrt();
        let length = core::array::from_fn(|k| self.length_factor * if k == 0 { radius } else { 0.5 * spread[k] / radius });
        let mut second = plane_xx;
        add(&mut second, -1.0, &product(&plane_x, &ratio(&plane_x, &held_plane)));
        Whole {
            outputs: [
                v,
                cx,
                cy,
                cz,
                skin,
                length,
                plane,
                second,
                transom.area,
                transom.up.map(|m| -m),
                self.transom_corner(water),
                side,
                ratio(&side_x, &held_side),
                square,
                bend,
            ],
            waterline_length: (wet_to - wet_from).max(0.0),
            draught,
        }
    }

    /// Depth of the transom's lowest point: the greatest of its corners' depths, rounded where one takes over from another.
    fn transom_corner<const K: usize>(&self, w: Water) -> Slopes<K> {
        let lever = self.transom.x - w.pivot_x;
        let height = w.sinkage - lever * w.trim;
        let depth = |p: &[f64; 2]| height - p[1] * w.cos + p[0] * w.sin;
        let most = self.transom.outline.iter().map(depth).fold(f64::NEG_INFINITY, f64::max);
        if !most.is_finite() {
            return [0.0; K];
        }
        let (mut sum, mut heel) = (0.0, 0.0);
        for p in &self.transom.outline {
            let e = ((depth(p) - most) / CORNER_WIDTH).exp();
            sum += e;
            heel += e * (p[1] * w.sin + p[0] * w.cos);
        }
        // The keel stands twice in the outline: two equal corners count as one.
        first([most + CORNER_WIDTH * (sum.ln() - core::f64::consts::LN_2), heel / sum, 1.0, -lever])
    }

    /// Where she floats at rest with a mass (kg) whose centre is at x, y to leeward, z in body axes (m), at a heel (rad):
    /// `None` when she cannot carry it.
    #[must_use]
    pub fn float(&self, mass: f64, centre: [f64; 3], heel: f64, water: Fluid) -> Option<Floating> {
        let volume = mass / water.density;
        if !(volume.is_finite() && volume > 0.0 && heel.abs() < core::f64::consts::FRAC_PI_2) {
            return None;
        }
        let (sin, cos) = heel.sin_cos();
        let outline = self.sections.iter().flat_map(|s| &s.outline).map(|p| p[1] * cos - p[0] * sin);
        let (mut low, mut high) = outline.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(z), h.max(z)));
        if self.whole::<1>([heel, high, 0.0]).outputs[0][0] < volume {
            return None;
        }
        // Halving finds the level sinkage roughly, Newton's method sinkage and trim together.
        for _ in 0..8 {
            let mid = 0.5 * (low + high);
            if self.whole::<1>([heel, mid, 0.0]).outputs[0][0] < volume { low = mid } else { high = mid }
        }
        let (mut sinkage, mut trim) = (0.5 * (low + high), 0.0);
        for _ in 0..100 {
            let w = self.whole::<ALL>([heel, sinkage, trim]);
            let (v, x) = (&w.outputs[0], &w.outputs[1]);
            let (short, aft) = (volume - v[0], centre[0] - x[0]);
            if short.abs() < 1e-10 * volume && aft.abs() < 1e-10 {
                let afloat = self.afloat(heel, sinkage, trim);
                let attitude = self.attitude(heel, sinkage, trim);
                let side = |[x, y, z]: [f64; 3]| attitude.place([x, y, z])[2].min(attitude.place([x, -y, z])[2]);
                return Some(Floating {
                    sinkage,
                    trim,
                    afloat,
                    righting_arm: afloat.centre[1] - attitude.place(centre)[1],
                    freeboard: self.sheer.iter().copied().map(side).fold(f64::INFINITY, f64::min),
                });
            }
            let det = v[2] * x[3] - v[3] * x[2];
            if !(det.is_finite() && det.abs() > 1e-12) {
                return None;
            }
            sinkage += ((short * x[3] - aft * v[3]) / det).clamp(-0.05, 0.05);
            trim += ((aft * v[2] - short * x[2]) / det).clamp(-0.05, 0.05);
        }
        None
    }
}

impl<D: Real> Afloat<D> {
    /// The water's push, up through the centre of volume.
    pub fn buoyancy(&self, water: Fluid) -> Load<D> {
        let zero = D::from(0.0);
        Load::at(self.centre, [zero, zero, self.volume * (water.density * GRAVITY)])
    }
}
