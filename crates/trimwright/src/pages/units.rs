//! Metric or US customary, as whoever reads the pages chose: kept by their browser, asked by every page.
//!
//! The store is SI. A number typed alone is in the units that the page shows; typed with its unit it may be in any.

use advice::dock::Tape;
use advice::weight::Scale;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use boat::gauge::{Gauge, GaugeUnit};
use measure::quantity::{FOOT, INCH, POUND, plain};

use super::{Sent, later};
use crate::briefing::what_if::written;
use crate::long::Long;

/// The cookie's name.
const COOKIE: &str = "units";
/// For how long a browser keeps it, s: a season.
const SEASON: u32 = 200 * 86400;

/// Units on the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Units {
    /// Centimetres, metres, kilograms, degrees Celsius.
    Metric,
    /// Inches, feet, pounds, degrees Fahrenheit.
    Us,
}

tokio::task_local! {
    /// The units of the request that is being answered.
    pub(super) static ASKED: Units;
}

impl Units {
    /// The units of whoever asks for this page.
    pub(super) fn now() -> Self {
        ASKED.try_with(|units| *units).unwrap_or(Self::Metric)
    }

    /// By name.
    pub(super) fn named(name: &str) -> Self {
        if name == "us" { Self::Us } else { Self::Metric }
    }

    /// Their name in an address.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
        }
    }

    /// What a browser's cookies say.
    pub(super) fn of(headers: &HeaderMap) -> Self {
        let cookies = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok()).flat_map(|line| line.split(';'));
        let mut units = cookies.filter_map(|pair| pair.trim().split_once('=')).filter(|pair| pair.0 == COOKIE);
        units.next().map_or(Self::Metric, |pair| Self::named(pair.1))
    }

    const fn of_two<T: Copy>(self, metric: T, us: T) -> T {
        match self {
            Self::Metric => metric,
            Self::Us => us,
        }
    }

    /// What a tape is marked in.
    pub(super) const fn tape(self) -> Tape {
        self.of_two(Tape::METRIC, Tape { unit: "in", metres: INCH })
    }

    /// The unit of a body's or a setting's length, and its length, m.
    pub(super) const fn short(self) -> (&'static str, f64) {
        self.of_two(("cm", 0.01), ("in", INCH))
    }

    /// The unit of a height or a distance, m.
    pub(super) const fn long(self) -> (&'static str, f64) {
        self.of_two(("m", 1.0), ("ft", FOOT))
    }

    /// The same, for sentences and drawings of lengths over the water.
    pub(super) const fn over_water(self) -> Long {
        self.of_two(Long::METRES, Long::FEET)
    }

    /// The unit of a mass, kg.
    pub(super) const fn mass(self) -> (&'static str, f64) {
        self.of_two(("kg", 1.0), ("lb", POUND))
    }

    /// The same, for sentences of a weigh-in.
    pub(super) const fn scale(self) -> Scale {
        self.of_two(Scale::KILOGRAMS, Scale::POUNDS)
    }

    /// The unit of a temperature, what one of it is in kelvin, and where it begins, K.
    pub(super) const fn warmth(self) -> (&'static str, f64, f64) {
        self.of_two(("°C", 1.0, 273.15), ("°F", 5.0 / 9.0, 273.15 - 32.0 * 5.0 / 9.0))
    }

    /// A gauge's unit in words, and its SI value.
    pub(super) const fn setting(self, gauge: Gauge) -> (&'static str, f64) {
        match gauge.unit() {
            GaugeUnit::Centimetres => self.short(),
            _ => (gauge.unit().text(), gauge.unit_si()),
        }
    }

    /// A reading as it is written: to half a centimetre or a quarter of an inch, degrees whole.
    pub(super) fn written(self, gauge: Gauge, si: f64) -> f64 {
        match (self, gauge.unit()) {
            // No minus before a nought.
            (Self::Us, GaugeUnit::Centimetres) => (si / INCH * 4.0).round() / 4.0 + 0.0,
            _ => written(gauge, si),
        }
    }

    /// The step of a slider, in the gauge's unit.
    pub(super) const fn step(self, gauge: Gauge) -> f64 {
        match gauge.unit() {
            GaugeUnit::Centimetres => self.of_two(0.5, 0.25),
            _ => 1.0,
        }
    }

    /// A reading with its unit.
    pub(super) fn shown(self, gauge: Gauge, si: f64) -> String {
        match gauge.unit() {
            GaugeUnit::OnOff => if si > 0.5 { "on" } else { "off" }.to_owned(),
            GaugeUnit::Degrees => format!("{}°", self.figure(gauge, si)),
            GaugeUnit::Centimetres => format!("{} {}", self.figure(gauge, si), self.short().0),
        }
    }

    /// A reading without its unit, to be read, with a true minus.
    pub(super) fn figure(self, gauge: Gauge, si: f64) -> String {
        plain(self.written(gauge, si)).replace('-', "−")
    }
}

/// A number of a unit, to so many decimals at most.
pub(super) fn rounded(si: f64, unit: f64, decimals: i32) -> String {
    let ten = 10.0_f64.powi(decimals);
    plain((si / unit * ten).round() / ten + 0.0)
}

/// The units are chosen; the page they were chosen on comes again.
pub(super) async fn choose(headers: HeaderMap, Sent(form): Sent) -> Response {
    let mut answer = later(&came_from(&headers)).into_response();
    let cookie = format!("{COOKIE}={}; Path=/; Max-Age={SEASON}; SameSite=Strict; HttpOnly", Units::named(form.text("units")).name());
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        answer.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    answer
}

/// The page of ours that a request came from.
fn came_from(headers: &HeaderMap) -> String {
    let text = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let ours = text(header::HOST).map(|host| format!("http://{host}"));
    let path = text(header::REFERER).zip(ours).and_then(|(from, ours)| from.strip_prefix(&ours).map(str::to_owned));
    path.filter(|path| path.starts_with('/') && !path.starts_with("//")).unwrap_or_else(|| "/today".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tape_in_inches_is_read_to_the_quarter() {
        assert_eq!(Units::Us.written(Gauge::CarOffset, 0.30), 11.75);
        assert_eq!(Units::Us.written(Gauge::BoardAngle, measure::angle::DEGREE * -40.0), -40.0);
        assert_eq!(Units::Metric.written(Gauge::CarOffset, 0.304), 30.5);
        assert_eq!(Units::Us.shown(Gauge::CarOffset, 0.0254), "1 in");
        assert_eq!(rounded(10.0, FOOT, 1), "32.8");
        let (_, one, nought) = Units::Us.warmth();
        // Water freezes at 32 degrees Fahrenheit and boils at 212, by the scale's definition.
        assert!((32.0 * one + nought - 273.15).abs() < 1e-9 && (212.0 * one + nought - 373.15).abs() < 1e-9);
    }

    #[test]
    fn cookies_are_read_and_strangers_are_not() {
        let of = |text: &str| Units::of(&HeaderMap::from_iter([(header::COOKIE, HeaderValue::from_str(text).unwrap())]));
        assert_eq!((of("a=b; units=us"), of("units=furlongs"), of("unit=us")), (Units::Us, Units::Metric, Units::Metric));
        let from = |referer: &str| {
            let headers = [(header::HOST, "127.0.0.1:9"), (header::REFERER, referer)];
            came_from(&HeaderMap::from_iter(headers.map(|(name, value)| (name, HeaderValue::from_str(value).unwrap()))))
        };
        assert_eq!(from("http://127.0.0.1:9/what-if?boat=Avocet"), "/what-if?boat=Avocet");
        assert_eq!(from("http://127.0.0.1:9.example.org/x"), "/today");
        assert_eq!((from("http://example.org/dock"), from("http://127.0.0.1:9//example.org")), ("/today".to_owned(), "/today".to_owned()));
    }
}
