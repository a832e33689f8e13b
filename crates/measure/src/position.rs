//! Positions on WGS 84, exact distance and bearing by Karney's geodesic, and a local plane for one outing.

use crate::angle::{Bearing, DEGREE};
use crate::quantity::{Length, OutOfRange};
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};
use std::sync::LazyLock;

/// Equatorial radius, m. Source: NIMA TR8350.2 (WGS 84), exact.
const EQUATOR: f64 = 6_378_137.0;
/// Flattening. Source: NIMA TR8350.2 (WGS 84), exact.
const FLATTENING: f64 = 1.0 / 298.257_223_563;

static ELLIPSOID: LazyLock<Geodesic> = LazyLock::new(Geodesic::wgs84);

/// Brings degrees into (-180, 180], leaving those already there untouched to the last bit.
fn wrapped(longitude: f64) -> f64 {
    if longitude > -180.0 && longitude <= 180.0 {
        return longitude;
    }
    let l = longitude.rem_euclid(360.0);
    if l > 180.0 { l - 360.0 } else { l }
}

/// Latitude and longitude in degrees on WGS 84.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Position {
    latitude: f64,
    longitude: f64,
}

impl Position {
    /// From degrees; longitude is brought into (-180, 180].
    ///
    /// # Errors
    /// When the latitude is outside -90 to 90, the longitude outside -360 to 360, or either is not finite.
    pub fn degrees(latitude: f64, longitude: f64) -> Result<Self, OutOfRange> {
        if !(latitude.is_finite() && longitude.is_finite() && latitude.abs() <= 90.0 && longitude.abs() <= 360.0) {
            return Err(OutOfRange(format!(
                "latitude {latitude}, longitude {longitude} is no place on earth: latitude -90 to 90, longitude -180 to 180, in degrees"
            )));
        }
        Ok(Self { latitude, longitude: wrapped(longitude) })
    }
    /// Latitude, degrees north.
    #[must_use]
    pub const fn latitude(self) -> f64 {
        self.latitude
    }
    /// Longitude, degrees east in (-180, 180].
    #[must_use]
    pub const fn longitude(self) -> f64 {
        self.longitude
    }
    /// Distance along the ellipsoid and the bearing at this end. Error below 15 nm (Karney 2013).
    #[must_use]
    pub fn to(self, other: Self) -> (Length, Bearing) {
        let (s12, azimuth, _, _): (f64, f64, f64, f64) = ELLIPSOID.inverse(self.latitude, self.longitude, other.latitude, other.longitude);
        (Length::metres(s12), Bearing::degrees_true(azimuth))
    }
    /// The position a distance along a bearing.
    #[must_use]
    pub fn along(self, bearing: Bearing, distance: Length) -> Self {
        let (latitude, longitude): (f64, f64) = ELLIPSOID.direct(self.latitude, self.longitude, bearing.in_degrees(), distance.si());
        Self { latitude, longitude: wrapped(longitude) }
    }
}

/// A plane tangent at one origin: x east, y north, metres, by the ellipsoid's two radii of curvature there with
/// the meridian's convergence kept to second order. Error below 1 cm within 3 km of the origin, away from the poles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalPlane {
    origin: Position,
    east_per_degree: f64,
    north_per_degree: f64,
    sine: f64,
    cosine: f64,
}

impl LocalPlane {
    /// The plane at an origin.
    #[must_use]
    pub fn at(origin: Position) -> Self {
        let (sine, cosine) = (origin.latitude * DEGREE).sin_cos();
        let e2 = FLATTENING * (2.0 - FLATTENING);
        let w = 1.0 - e2 * sine * sine;
        let prime = EQUATOR / w.sqrt();
        let meridian = EQUATOR * (1.0 - e2) / (w * w.sqrt());
        Self {
            origin,
            east_per_degree: prime * cosine.max(1e-6) * DEGREE,
            north_per_degree: meridian * DEGREE,
            sine,
            cosine: cosine.max(1e-6),
        }
    }
    /// Where the origin is.
    #[must_use]
    pub const fn origin(&self) -> Position {
        self.origin
    }
    /// East and north of the origin, m. Longitude differences go through the antimeridian.
    #[must_use]
    pub fn xy(&self, p: Position) -> (f64, f64) {
        let dl = wrapped(p.longitude - self.origin.longitude);
        let db = p.latitude - self.origin.latitude;
        // Parallels shrink towards the pole, and a parallel bends away from the tangent plane: both second order.
        let x = self.east_per_degree * dl * (1.0 - self.sine / self.cosine * db * DEGREE);
        let y = self.north_per_degree * db + 0.5 * self.east_per_degree * self.sine * DEGREE * dl * dl;
        (x, y)
    }
    /// The position at east, north metres. Inverse of [`Self::xy`] to a micrometre within 3 km.
    #[must_use]
    pub fn position(&self, x: f64, y: f64) -> Position {
        let (mut dl, mut db) = (x / self.east_per_degree, y / self.north_per_degree);
        for _ in 0..4 {
            dl = x / (self.east_per_degree * (1.0 - self.sine / self.cosine * db * DEGREE));
            db = (y - 0.5 * self.east_per_degree * self.sine * DEGREE * dl * dl) / self.north_per_degree;
        }
        Position { latitude: (self.origin.latitude + db).clamp(-90.0, 90.0), longitude: wrapped(self.origin.longitude + dl) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// N1: short geodesics by GeographicLib 2.1 (PyPI), confirmed by PROJ: lat1, lon1, lat2, lon2, metres, azimuth.
    const GEODESIC: &[(f64, f64, f64, f64, f64, f64)] = &[
        (50.0, -1.0, 50.001, -1.0, 111.229_073_624_656_7, 0.0),
        (50.0, -1.0, 50.0, -0.999, 71.695_753_615_473_61, 89.999_616_977_778_43),
        (0.0, 0.0, 0.0, 0.001, 111.319_490_793_273_57, 90.0),
        (0.0, 0.0, 0.001, 0.0, 110.574_275_821_707_23, 0.0),
        (-34.9, -56.1, -34.91, -56.12, 2138.189_650_659_155_6, -121.260_509_646_426_36),
        (60.0, 179.9995, 60.0005, -179.9995, 78.846_482_974_124_07, 45.047_577_201_362_54),
        (41.5, -71.3, 41.5, -71.29, 834.961_686_177_621_8, 89.9966868997542),
    ];
    /// The table's two libraries agree to a nanometre.
    const GEODESIC_TOLERANCE: f64 = 1e-6;
    /// What the local plane's docstring promises within 3 km.
    const PLANE_TOLERANCE: f64 = 0.01;

    #[test]
    fn short_geodesics() {
        for &(a, b, c, d, s, azimuth) in GEODESIC {
            let (p, q) = (Position::degrees(a, b).unwrap(), Position::degrees(c, d).unwrap());
            let (length, bearing) = p.to(q);
            assert!((length.si() - s).abs() < GEODESIC_TOLERANCE);
            let turn = bearing.turn_from(Bearing::degrees_true(azimuth)).in_degrees();
            assert!(turn.abs() < 1e-6, "{a} {b}: {turn}");
            let (x, y) = LocalPlane::at(p).xy(q);
            assert!((x.hypot(y) - s).abs() < PLANE_TOLERANCE, "{x} {y} {s}");
        }
    }

    proptest! {
        #[test]
        fn plane_agrees_with_the_geodesic(lat in -70.0..70.0f64, lon in -180.0..180.0f64, az in 0.0..360.0f64, d in 0.0..3000.0f64) {
            let o = Position::degrees(lat, lon).unwrap();
            let p = o.along(Bearing::degrees_true(az), Length::metres(d));
            let plane = LocalPlane::at(o);
            let (x, y) = plane.xy(p);
            let (e, n) = Bearing::degrees_true(az).unit();
            prop_assert!((x - d * e).hypot(y - d * n) < PLANE_TOLERANCE, "{} {}", x - d * e, y - d * n);
            let back = plane.position(x, y);
            prop_assert!(p.to(back).0.si() < 1e-4);
        }
    }
}
