//! How to sit today, from behind, windward on the left: the body, the boat, and the trailing edge over the boom ring.

use super::boat::BoatShape;
use super::{HULL, INK, LINE, OUTLINE, Picture, Point};
use crate::briefing::card::Posture;

/// A child's body as drawn, m, all `assumed`: head radius, width of the trunk, of a leg and of an arm.
const BODY: (f64, f64, f64, f64) = (0.10, 0.16, 0.115, 0.07);

/// The joints of a posture, in m from the middle of the boat at the height of its rail; windward negative, up positive.
struct Pose {
    head: Point,
    shoulder: Point,
    hip: Point,
    knee: Point,
    foot: Point,
    elbow: Point,
    hand: Point,
}

/// The joints of a posture for a boat this broad at the rail.
fn pose(posture: Posture, half_beam: f64) -> Pose {
    let side = -half_beam;
    match posture {
        // Low between the sides, knees up, the weight near the middle.
        Posture::Inside => Pose {
            head: (-0.17, 0.52),
            shoulder: (-0.15, 0.32),
            hip: (-0.12, -0.10),
            knee: (0.17, 0.10),
            foot: (0.24, -0.17),
            elbow: (0.0, 0.13),
            hand: (0.14, 0.24),
        },
        // Up on the side, the trunk leaning out a little.
        Posture::OnTheSide => Pose {
            head: (side - 0.20, 0.67),
            shoulder: (side - 0.13, 0.48),
            hip: (side - 0.01, 0.08),
            knee: (side + 0.36, 0.07),
            foot: (side + 0.42, -0.16),
            elbow: (side + 0.10, 0.33),
            hand: (side + 0.30, 0.37),
        },
        // Straight and level outboard, the feet held in the boat.
        Posture::FlatOut => Pose {
            head: (side - 0.72, 0.33),
            shoulder: (side - 0.53, 0.26),
            hip: (side - 0.09, 0.10),
            knee: (side + 0.26, 0.06),
            foot: (side + 0.40, -0.15),
            elbow: (side - 0.29, 0.33),
            hand: (side + 0.02, 0.23),
        },
    }
}

/// The figure, this large on paper (mm), saying `alt`; the hull at the picture's own scale.
#[must_use]
pub fn figure(posture: Posture, shape: &BoatShape, width: f64, height: f64, alt: &str) -> Picture {
    let mut picture = Picture::new(width, height, alt);
    let half_beam = shape.transom.iter().fold(0.1_f64, |b, p| b.max(p.0));
    let rail = shape.transom.iter().fold(0.1_f64, |z, p| z.max(p.1));
    // Room for a body flat out to windward, an open edge to leeward, and the transom's foot below the water.
    let (left, right, up, down) = (half_beam + 0.85, half_beam + 0.25, 0.78, 0.42);
    let scale = (width / (left + right)).min(height / (up + down));
    let at = |(x, z): Point| ((x + left) * scale, (up - z) * scale);
    let water = at((0.0, shape.waterline - rail)).1;
    picture.line([(0.0, water), (at((-half_beam - 0.03, 0.0)).0, water)], LINE, OUTLINE);
    picture.line([(at((half_beam + 0.03, 0.0)).0, water), (width, water)], LINE, OUTLINE);
    let right_side = shape.transom.iter().map(|&(y, z)| at((y, z - rail)));
    let left_side = shape.transom.iter().rev().map(|&(y, z)| at((-y, z - rail)));
    picture.area(right_side.chain(left_side), HULL, (INK, OUTLINE));
    let p = pose(posture, half_beam);
    let (head, trunk, leg, arm) = BODY;
    picture.limb([at(p.shoulder), at(p.hip)], INK, trunk * scale);
    picture.limb([at(p.hip), at(p.knee), at(p.foot)], INK, leg * scale);
    picture.limb([at(p.shoulder), at(p.elbow), at(p.hand)], INK, arm * scale);
    picture.dot(at(p.head), head * scale);
    // The trailing edge rises from the boom's end: soft, firm, or thrown open at the top.
    let (ring, bend, top) = match posture {
        Posture::Inside => ((0.36, 0.22), (0.60, 0.45), (0.50, 0.76)),
        Posture::OnTheSide => ((0.16, 0.22), (0.20, 0.50), (0.24, 0.76)),
        Posture::FlatOut => ((0.24, 0.22), (0.30, 0.56), (0.68, 0.74)),
    };
    picture.limb(super::curve(at(ring), at(bend), at(top)), INK, OUTLINE);
    picture.ring(at(ring), 0.045 * scale, 0.5);
    picture
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Farther out to windward from one posture to the next; and nobody leaves the picture.
    #[test]
    fn postures_go_outboard() {
        let heads = [Posture::Inside, Posture::OnTheSide, Posture::FlatOut].map(|p| pose(p, 0.49).head.0);
        assert!(heads[0] > heads[1] && heads[1] > heads[2]);
        assert!(heads[2] - BODY.0 > -(0.49 + 0.85));
    }
}
