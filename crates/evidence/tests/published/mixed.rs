//! Variance components, standard errors and degrees of freedom of three published tables.

use evidence::mixed::{Fit, Rows};
use nalgebra::{DMatrix, DVector};

/// The columns named, as numbers; words are numbered in the order met.
fn columns<const N: usize>(text: &str, names: [&str; N]) -> [Vec<f64>; N] {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let head = reader.headers().unwrap().clone();
    let places = names.map(|name| head.iter().position(|h| h == name).unwrap());
    let mut words: Vec<String> = Vec::new();
    let mut columns = [const { Vec::new() }; N];
    for row in reader.records() {
        let row = row.unwrap();
        for (column, place) in columns.iter_mut().zip(places) {
            let cell = row[place].to_owned();
            column.push(cell.parse().unwrap_or_else(|_| {
                if !words.contains(&cell) {
                    words.push(cell.clone());
                }
                words.iter().position(|w| *w == cell).unwrap() as f64
            }));
        }
    }
    columns
}

/// A straight line in `x` with a line of each group's own.
fn own_lines(y: Vec<f64>, x: &[f64], group: &[f64]) -> Fit {
    let design = DMatrix::from_fn(y.len(), 2, |r, c| if c == 0 { 1.0 } else { x[r] });
    let weight = vec![1.0; y.len()];
    Rows { response: y, fixed: design.clone(), group: group.iter().map(|g| *g as usize).collect(), random: design, weight }.fit().unwrap()
}

fn near(found: f64, told: f64, digits: f64) {
    assert!((found - told).abs() <= digits, "{found} against {told}");
}

/// One unit in the last digit quoted: half for its rounding, half for where the other search stopped.
const LAST: f64 = 1.0;

/// Estimates: the source line of the table. Variance components 612.09 (printed 612.10 by a later version of the same program), 35.072, correlation .066, residual 654.94; standard errors 6.825 and
/// 1.546; df 17; criterion 1743.628: Bates et al., J. Stat. Softw. 67(1), 2015, and the lmerTest paper (from memory).
#[test]
fn sleepstudy() {
    let [y, x, g] = columns(include_str!("sleepstudy.csv"), ["Reaction", "Days", "Subject"]);
    let fit = own_lines(y, &x, &g);
    near(fit.coefficients[0], 251.4051, LAST * 1e-4);
    near(fit.coefficients[1], 10.4673, LAST * 1e-4);
    near(fit.covariance[(0, 0)].sqrt(), 6.825, LAST * 1e-3);
    near(fit.covariance[(1, 1)].sqrt(), 1.546, LAST * 1e-3);
    near(fit.group_covariance[(0, 0)], 612.09, LAST * 0.01);
    near(fit.group_covariance[(1, 1)], 35.072, LAST * 1e-3);
    near(fit.group_covariance[(0, 1)] / (fit.group_covariance[(0, 0)] * fit.group_covariance[(1, 1)]).sqrt(), 0.066, LAST * 1e-3);
    near(fit.residual_sd.powi(2), 654.94, LAST * 0.01);
    near(fit.criterion, 1743.628, LAST * 1e-3);
    // A balanced table: each subject has one slope, so 18 - 1.
    near(fit.degrees_of_freedom(&DVector::from_vec(vec![0.0, 1.0])), 17.0, 0.01);
}

/// Estimates: the source line of the table. Balanced: 27 - 1 degrees of freedom for the slope.
#[test]
fn orthodont() {
    let [y, x, g] = columns(include_str!("orthodont.csv"), ["distance", "age", "Subject"]);
    let fit = own_lines(y, &x, &g);
    near(fit.coefficients[0], 16.761111, LAST * 1e-6);
    near(fit.coefficients[1], 0.660185, LAST * 1e-6);
    near(fit.degrees_of_freedom(&DVector::from_vec(vec![0.0, 1.0])), 26.0, 0.02);
}

/// The source line of the table.
#[test]
fn mixed_lineup() {
    let [y, b, s, w, g] = columns(include_str!("mixed_lineup.csv"), ["vmg_kn", "B", "sailor", "wind_kn", "run"]);
    let n = y.len();
    let fixed = DMatrix::from_fn(n, 4, |r, c| [1.0, b[r], s[r], w[r]][c]);
    let group = g.iter().map(|g| *g as usize).collect();
    let rows = Rows { response: y, fixed, group, random: DMatrix::repeat(n, 1, 1.0), weight: vec![1.0; n] };
    let fit = rows.fit().unwrap();
    let pick = DVector::from_vec(vec![0.0, 1.0, 0.0, 0.0]);
    let (value, se) = fit.contrast(&pick);
    near(value, 0.037483, LAST * 1e-6);
    near(se, 0.014419, LAST * 1e-6);
    near(fit.degrees_of_freedom(&pick), 9.997, LAST * 1e-3);
}

/// Groups that differ less than chance alone would have them: the variance is zero and the doubt that of plain least squares.
#[test]
fn a_variance_at_zero() {
    let y = vec![1.0, 2.0, 1.1, 1.9, 0.9, 2.1, 2.05, 0.95];
    let fixed = DMatrix::from_fn(8, 1, |_, _| 1.0);
    let rows =
        Rows { response: y.clone(), fixed, group: vec![0, 0, 1, 1, 2, 2, 3, 3], random: DMatrix::repeat(8, 1, 1.0), weight: vec![1.0; 8] };
    let fit = rows.fit().unwrap();
    assert!(fit.group_covariance[(0, 0)] < 1e-8, "{}", fit.group_covariance);
    let mean = y.iter().sum::<f64>() / 8.0;
    let sd = (y.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 7.0).sqrt();
    near(fit.residual_sd, sd, 1e-9);
    near(fit.degrees_of_freedom(&DVector::from_vec(vec![1.0])), 7.0, 1e-3);
}
