//! The boat from the side, to scale: hull, mast, sail, board, rudder and the plumb line from the masthead.

use serde::Serialize;

use super::{HULL, INK, LINE, OUTLINE, PEN, Picture, Point, SAIL, SEAM, SHEET, SPAR};

/// The dimensions a drawing needs, in metres and radians; x forward from the transom, z up from the base line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoatShape {
    /// The hull from the side: x, height of the keel, height of the sheer; from transom to bow.
    pub profile: Vec<(f64, f64, f64)>,
    /// The transom: half breadth and height, from keel to sheer.
    pub transom: Vec<(f64, f64)>,
    /// Height of the water.
    pub waterline: f64,
    /// The mast's foot, x and z.
    pub mast_foot: (f64, f64),
    /// How far the mast leans aft, from vertical.
    pub rake: f64,
    /// From the mast's foot along the mast to the tack of the sail.
    pub tack_up: f64,
    /// The sail's edges.
    pub sail: SailEdges,
    /// Length of the boom.
    pub boom: f64,
    /// The board's pivot (x, z), length, chord and angle (tip forward positive).
    pub board: Option<FoilShape>,
    /// The rudder's top (x, z), length, chord and angle.
    pub rudder: FoilShape,
    /// Half the width of the car's track; absent without a traveller.
    pub car_half_width: Option<f64>,
}

/// The edges of a sail, m.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SailEdges {
    /// Tack to the top of the luff.
    pub luff: f64,
    /// Tack to clew.
    pub foot: f64,
    /// Clew to the top of the luff, or to the peak of a sprit sail, straight.
    pub leech: f64,
    /// Along the top.
    pub head: f64,
    /// How far the leech stands out over the straight.
    pub roach: f64,
    /// Of a sprit sail the sprit's heel above the tack, and the peak from the tack: aft of the mast, and up along it.
    pub sprit: Option<(f64, Point)>,
}

/// A board or a rudder from the side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FoilShape {
    /// Where it hangs: x and z.
    pub top: (f64, f64),
    /// Its length, m.
    pub length: f64,
    /// Its chord, m.
    pub chord: f64,
    /// Its angle from vertical, the tip forward positive, radians.
    pub angle: f64,
}

/// A part of the boat that a picture points at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The flat end at the back.
    Transom,
    /// The board across the middle.
    Thwart,
    /// The mast.
    Mast,
    /// The sail's front edge.
    Luff,
    /// Its back edge.
    Leech,
    /// Its low edge.
    Foot,
    /// The boom.
    Boom,
    /// Its far end.
    BoomEnd,
    /// The line along the boom.
    Outhaul,
    /// The line along the mast.
    Downhaul,
    /// The line that holds the boom down.
    Vang,
    /// The blade in the water.
    Board,
    /// The stick to steer with.
    Tiller,
}

/// What is laid over the boat from the side.
#[derive(Clone, Copy, Debug, Default)]
pub struct Over<'a> {
    /// Lines over the sail: each from place to place, a place by how far aft from the luff and how far up from the foot it lies, as
    /// shares.
    pub lines: &'a [[Point; 2]],
    /// A part that is pointed at.
    pub part: Option<Part>,
    /// The plumb line that shows the mast's rake.
    pub plumb: bool,
}

/// Straight-line meeting point of two circles, the one aft of the line between their centres; absent where they do not meet.
fn clew(tack: Point, throat: Point, foot: f64, leech: f64) -> Option<Point> {
    let (dx, dz) = (throat.0 - tack.0, throat.1 - tack.1);
    let luff = dx.hypot(dz);
    let along = (foot * foot - leech * leech + luff * luff) / (2.0 * luff);
    let across = (foot * foot - along * along).sqrt();
    let place = (tack.0 + along * dx / luff - across * dz / luff, tack.1 + along * dz / luff + across * dx / luff);
    (place.0.is_finite() && place.1.is_finite()).then_some(place)
}

impl BoatShape {
    /// A point on the mast, this far from its foot along it.
    fn on_mast(&self, up: f64) -> Point {
        (self.mast_foot.0 - up * self.rake.sin(), self.mast_foot.1 + up * self.rake.cos())
    }

    /// A point aft of the mast, square to it.
    fn off_mast(&self, up: f64, aft: f64) -> Point {
        let (x, z) = self.on_mast(up);
        (x - aft * self.rake.cos(), z - aft * self.rake.sin())
    }

    /// The boat from the side, bow to the right, as large as fits in a picture of this size (mm), with the plumb line.
    #[must_use]
    pub fn from_the_side(&self, width: f64, height: f64, alt: &str) -> Picture {
        self.from_the_side_over(width, height, alt, Over { plumb: true, ..Over::default() })
    }

    /// The same with what is laid over it.
    #[must_use]
    pub fn from_the_side_over(&self, width: f64, height: f64, alt: &str, over: Over<'_>) -> Picture {
        let head = self.tack_up + self.sail.luff;
        let bow = self.profile.last().map_or(1.0, |p| p.0);
        let deepest = self.board.map_or(0.0, |b| b.top.1 - b.length).min(self.rudder.top.1 - self.rudder.length);
        let aft = self.rudder.top.0 - 0.2;
        let peak = self.sail.sprit.map(|(_, at)| self.off_mast(self.tack_up + at.1, at.0));
        let top = peak.map_or(self.on_mast(head).1, |p| p.1.max(self.on_mast(head).1)) + 0.1;
        let scale = (width / (bow - aft + 0.1)).min(height / (top - deepest + 0.05));
        let at = |(x, z): Point| ((x - aft) * scale, (top - z) * scale);
        let mut picture = Picture::new(width, height, alt);
        picture.line([(0.0, at((0.0, self.waterline)).1), ((bow - aft + 0.1) * scale, at((0.0, self.waterline)).1)], LINE, 0.28);
        let keel = self.profile.iter().map(|p| at((p.0, p.1)));
        let sheer = self.profile.iter().rev().map(|p| at((p.0, p.2)));
        picture.area(keel.chain(sheer), HULL, (INK, OUTLINE));
        foil(&mut picture, self.rudder, at);
        if let Some(board) = self.board {
            foil(&mut picture, board, at);
        }
        let (tack, throat) = (self.on_mast(self.tack_up), self.on_mast(head));
        // The head of a sail without a sprit stands square to the leech's upper end, aft of the mast.
        let held = peak.unwrap_or((throat.0 - self.sail.head * 0.9, throat.1 - self.sail.head * 0.25));
        if let Some(clew) = clew(tack, peak.unwrap_or(throat), self.sail.foot, self.sail.leech) {
            self.draw_sail(&mut picture, [tack, throat, held, clew], at);
            let on = |(aft, up): Point| {
                let mix = |a: Point, b: Point, u: f64| (a.0 + u * (b.0 - a.0), a.1 + u * (b.1 - a.1));
                mix(mix(tack, throat, up), mix(clew, held, up), aft)
            };
            for line in over.lines {
                picture.limb([at(on(line[0])), at(on(line[1]))], PEN, super::ACCENT * 0.6);
            }
        }
        if let (Some(peak), Some((heel, _))) = (peak, self.sail.sprit) {
            picture.line([at(self.on_mast(self.tack_up + heel)), at(peak)], INK, SPAR);
        }
        picture.line([at(self.mast_foot), at(throat)], INK, SPAR);
        if let Some(part) = over.part {
            self.mark(&mut picture, part, at);
        }
        if !over.plumb {
            return picture;
        }
        // The plumb line hangs from the masthead's level over the foot of the mast: what lies between is the rake.
        picture.dashed([at((self.mast_foot.0, throat.1)), at((self.mast_foot.0, self.mast_foot.1))], INK, ROPE, 0.9);
        picture.line([at((self.mast_foot.0, throat.1)), at(throat)], PEN, super::ACCENT);
        picture
    }

    /// One part of the boat from the side, in the colour of decision.
    fn mark(&self, picture: &mut Picture, part: Part, at: impl Fn(Point) -> Point) {
        let (tack, throat) = (self.on_mast(self.tack_up), self.on_mast(self.tack_up + self.sail.luff));
        let peak = self.sail.sprit.map_or(throat, |(_, at)| self.off_mast(self.tack_up + at.1, at.0));
        let clew = clew(tack, peak, self.sail.foot, self.sail.leech).unwrap_or(tack);
        let foot = (clew.0 - tack.0).hypot(clew.1 - tack.1).max(1e-6);
        let along = |far: f64| (tack.0 + (clew.0 - tack.0) * far / foot, tack.1 + (clew.1 - tack.1) * far / foot);
        let sheer = |x: f64| self.profile.iter().find(|p| p.0 >= x).map_or(0.4, |p| p.2);
        let lines: Vec<Point> = match part {
            Part::Transom => self.profile.first().map_or(vec![(0.0, 0.0), (0.0, 0.4)], |p| vec![(p.0, p.1), (p.0, p.2)]),
            Part::Thwart => [-0.14, 0.14].map(|x| (self.mast_foot.0 + x, sheer(self.mast_foot.0) - 0.06)).to_vec(),
            Part::Mast => vec![self.mast_foot, throat],
            Part::Luff => vec![tack, throat],
            Part::Leech => vec![clew, peak],
            Part::Foot => vec![tack, clew],
            Part::Boom => vec![tack, along(self.boom)],
            Part::Tiller => vec![(self.rudder.top.0, sheer(0.0) + 0.04), (0.7, sheer(0.0) + 0.12)],
            Part::BoomEnd => vec![along(self.boom - 0.12), along(self.boom)],
            Part::Outhaul => vec![clew, along(self.boom)],
            Part::Downhaul => vec![tack, self.on_mast(self.tack_up - 0.28)],
            Part::Vang => vec![along(0.45), self.on_mast(0.15)],
            Part::Board => self.board.map_or(Vec::new(), |board| {
                let (sin, cos) = board.angle.sin_cos();
                vec![board.top, (board.top.0 + board.length * sin, board.top.1 - board.length * cos)]
            }),
        };
        let lines: Vec<Point> = lines.into_iter().map(at).collect();
        picture.limb(lines.iter().copied(), PEN, super::ACCENT * 1.4);
        // A ring about what is small.
        if let [a, b] = lines.as_slice() {
            let (far, middle) = ((b.0 - a.0).hypot(b.1 - a.1), (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1)));
            if far < SMALL {
                picture.limb(super::arc(middle, 0.5 * far + 2.4, 0.0, core::f64::consts::TAU), PEN, super::ACCENT * 0.6);
            }
        }
    }

    /// The sail, its seams and the boom.
    fn draw_sail(&self, picture: &mut Picture, [tack, throat, peak, clew]: [Point; 4], at: impl Fn(Point) -> Point) {
        let up = if self.sail.sprit.is_some() { peak } else { throat };
        let (dx, dz) = (clew.0 - up.0, clew.1 - up.1);
        let leech = dx.hypot(dz);
        let middle =
            ((peak.0 + clew.0) / 2.0 + 2.0 * self.sail.roach * dz / leech, (peak.1 + clew.1) / 2.0 - 2.0 * self.sail.roach * dx / leech);
        let edge = super::curve(peak, middle, clew);
        let outline = [tack, throat].into_iter().chain(edge.iter().copied());
        picture.area(outline.map(&at), SAIL, (INK, OUTLINE));
        for i in 1..5 {
            let share = f64::from(i) / 5.0;
            let luff = (tack.0 + (throat.0 - tack.0) * share, tack.1 + (throat.1 - tack.1) * share);
            if let Some(&leech) = edge.get(((1.0 - share) * 16.0).round() as usize) {
                picture.line([at(luff), at(leech)], LINE, SEAM);
            }
        }
        let foot = (clew.0 - tack.0).hypot(clew.1 - tack.1);
        let end = (tack.0 + (clew.0 - tack.0) * self.boom / foot, tack.1 + (clew.1 - tack.1) * self.boom / foot);
        picture.line([at(tack), at(end)], INK, SPAR);
    }
}

/// A part shorter than this on paper is small, mm.
const SMALL: f64 = 9.0;

/// Width of the dashed plumb line: a rope's.
const ROPE: f64 = super::ROPE;

/// A board or rudder.
pub(super) fn foil(picture: &mut Picture, foil: FoilShape, at: impl Fn(Point) -> Point) {
    let (sin, cos) = foil.angle.sin_cos();
    let place = |across: f64, down: f64| (foil.top.0 + across * cos + down * sin, foil.top.1 - down * cos + across * sin);
    let half = foil.chord / 2.0;
    let corners = [
        place(-half, -0.05),
        place(half, -0.05),
        place(half * 0.85, foil.length * 0.93),
        place(0.0, foil.length),
        place(-half * 0.8, foil.length * 0.97),
    ];
    picture.area(corners.map(at), SHEET, (INK, OUTLINE));
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// An invented pram, as its class file has it.
    pub(crate) fn pram() -> BoatShape {
        BoatShape {
            profile: vec![
                (0.0, 0.105, 0.40),
                (0.5, 0.03, 0.39),
                (1.1, 0.0, 0.40),
                (1.7, 0.03, 0.43),
                (2.2, 0.14, 0.47),
                (2.45, 0.28, 0.50),
            ],
            transom: vec![(0.0, 0.105), (0.435, 0.14), (0.49, 0.40)],
            waterline: 0.15,
            mast_foot: (1.93, 0.05),
            rake: 0.07,
            tack_up: 0.66,
            sail: SailEdges { luff: 2.75, foot: 1.95, leech: 3.40, head: 0.28, roach: 0.16, sprit: None },
            boom: 2.05,
            board: Some(FoilShape { top: (1.44, 0.33), length: 1.02, chord: 0.27, angle: 0.1 }),
            rudder: FoilShape { top: (-0.10, 0.26), length: 0.75, chord: 0.22, angle: -0.1 },
            car_half_width: Some(0.42),
        }
    }

    #[test]
    fn a_sail_closes_its_triangle() {
        let clew = clew((0.0, 0.0), (0.0, 2.75), 1.95, 3.40).expect("it closes");
        assert!((clew.0.hypot(clew.1) - 1.95).abs() < 1e-12);
        assert!((clew.0.hypot(clew.1 - 2.75) - 3.40).abs() < 1e-12);
        assert!(clew.0 < 0.0, "the clew lies aft of the mast");
        assert_eq!(super::clew((0.0, 0.0), (0.0, 9.0), 1.0, 1.0), None, "edges that cannot meet draw no sail");
    }

    #[test]
    fn the_picture_says_what_it_shows() {
        assert!(pram().from_the_side(30.0, 36.0, "the boat from the side").svg().contains("the boat from the side"));
    }
}
