//! A curve of a sweep, its peak and what leaving the peak costs.

/// One curve: a name, what its axes are, and its points in order of x.
#[derive(Debug, Clone)]
pub(crate) struct Curve {
    /// Which of the sweeps.
    pub(crate) name: String,
    /// What is swept, with its unit.
    pub(crate) x: &'static str,
    /// What is looked at, with its unit.
    pub(crate) y: &'static str,
    /// Points that have an answer.
    pub(crate) points: Vec<[f64; 2]>,
}

impl Curve {
    /// A curve of what has an answer.
    pub(crate) fn new(name: impl Into<String>, x: &'static str, y: &'static str, points: impl IntoIterator<Item = [f64; 2]>) -> Self {
        Self { name: name.into(), x, y, points: points.into_iter().filter(|p| p.iter().all(|v| v.is_finite())).collect() }
    }

    /// Highest point by the parabola through the three highest neighbours; the end itself where the highest is an end.
    pub(crate) fn peak(&self) -> [f64; 2] {
        let highest = (0..self.points.len()).max_by(|a, b| self.points[*a][1].total_cmp(&self.points[*b][1]));
        let Some(k) = highest else { return [f64::NAN; 2] };
        let here = self.points[k];
        let neighbours = k.checked_sub(1).and_then(|j| self.points.get(j)).zip(self.points.get(k + 1));
        let Some(([x0, y0], [x2, y2])) = neighbours else { return here };
        let [x1, y1] = here;
        let (left, right) = ((y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1));
        let bend = (right - left) / (x2 - x0);
        if bend >= 0.0 {
            return here;
        }
        let at = (0.5 * (x0 + x1) - 0.5 * left / bend).clamp(*x0, *x2);
        [at, y0 + (at - x0) * (left + bend * (at - x1))]
    }

    /// Whether the highest point is neither end.
    pub(crate) fn is_interior(&self) -> bool {
        let best = self.peak()[0];
        self.points.first().is_some_and(|p| best > p[0]) && self.points.last().is_some_and(|p| best < p[0])
    }

    /// Value at x by straight lines; not a number beyond the ends.
    pub(crate) fn at(&self, x: f64) -> f64 {
        let between = self.points.windows(2).find(|w| (w[0][0]..=w[1][0]).contains(&x));
        between.map_or(f64::NAN, |w| w[0][1] + (w[1][1] - w[0][1]) * (x - w[0][0]) / (w[1][0] - w[0][0]))
    }

    /// Share of the peak lost at x.
    pub(crate) fn loss(&self, x: f64) -> f64 {
        1.0 - self.at(x) / self.peak()[1]
    }

    /// Where less than a share of the peak is lost.
    pub(crate) fn band(&self, share: f64) -> [f64; 2] {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return [f64::NAN; 2] };
        let peak = self.peak();
        let wanted = peak[1] * (1.0 - share);
        let mut band = [first[0], last[0]];
        for w in self.points.windows(2) {
            let [[x0, y0], [x1, y1]] = [w[0], w[1]];
            let cross = x0 + (wanted - y0) / (y1 - y0) * (x1 - x0);
            if y0 < wanted && y1 >= wanted && cross <= peak[0] {
                band[0] = cross;
            } else if y0 >= wanted && y1 < wanted && cross >= peak[0] && band[1] == last[0] {
                band[1] = cross;
            }
        }
        band
    }

    /// Whether it never falls from one point to the next by more than `slack`.
    pub(crate) fn never_falls(&self, slack: f64) -> bool {
        self.points.windows(2).all(|w| w[1][1] >= w[0][1] - slack)
    }

    /// Whether it never rises from one point to the next by more than `slack`.
    pub(crate) fn never_rises(&self, slack: f64) -> bool {
        self.points.windows(2).all(|w| w[1][1] <= w[0][1] + slack)
    }

    /// Last value less the first.
    pub(crate) fn rise(&self) -> f64 {
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) => last[1] - first[1],
            _ => f64::NAN,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_has_its_peak_and_band() {
        let y = |x: f64| 2.0 - 0.01 * (x - 3.3).powi(2);
        let curve = Curve::new("", "", "", (0..10).map(|k| [f64::from(k), y(f64::from(k))]));
        let [x, top] = curve.peak();
        assert!((x - 3.3).abs() < 1e-9 && (top - 2.0).abs() < 1e-9 && curve.is_interior());
        // Straight lines between points a unit apart move an edge by less than a tenth.
        let [low, high] = curve.band(0.01);
        let half = 2f64.sqrt();
        assert!((low - (3.3 - half)).abs() < 0.1 && (high - (3.3 + half)).abs() < 0.1, "{low} {high}");
        assert!(!curve.never_falls(0.0) && !curve.never_rises(0.0));
    }

    #[test]
    fn an_end_is_no_interior_peak() {
        let curve = Curve::new("", "", "", [[0.0, 1.0], [1.0, 2.0], [2.0, 3.0]]);
        assert!(curve.peak() == [2.0, 3.0] && !curve.is_interior() && curve.never_falls(0.0));
        assert!(curve.band(0.5)[1] == 2.0 && (curve.loss(1.0) - 1.0 / 3.0).abs() < 1e-12);
    }
}
