//! Several comparisons at once: the share of false finds (Benjamini and Hochberg, J. R. Stat. Soc. B 57, 1995) and the chance of any
//! (Holm, Scand. J. Stat. 6, 1979). Valid for independent or positively dependent tests (the first) and for any tests (the second).

/// Places of `p` from the smallest to the largest.
fn rising(p: &[f64]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..p.len()).collect();
    places.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    places
}

/// Each p-value adjusted by Benjamini and Hochberg: a find where it is at most the share of false finds that is borne.
#[must_use]
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let mut adjusted = vec![1.0; p.len()];
    let mut least = 1.0_f64;
    for (rank, place) in rising(p).into_iter().enumerate().rev() {
        least = least.min(p[place] * p.len() as f64 / (rank + 1) as f64);
        adjusted[place] = least;
    }
    adjusted
}

/// Each p-value adjusted by Holm: a find where it is at most the chance of any false find that is borne.
#[must_use]
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut adjusted = vec![1.0; p.len()];
    let mut most = 0.0_f64;
    for (rank, place) in rising(p).into_iter().enumerate() {
        most = most.max((p[place] * (p.len() - rank) as f64).min(1.0));
        adjusted[place] = most;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Benjamini and Hochberg 1995, section 3.2: fifteen comparisons of a myocardial-infarction trial; at a share of 0.05 their
    /// procedure finds the first four, the Bonferroni-type procedure of Hochberg (and Holm here) the first three. The values are from memory of the paper.
    #[test]
    fn the_first_worked_example() {
        let p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0];
        let found = |adjusted: Vec<f64>| adjusted.iter().filter(|p| **p <= 0.05).count();
        assert_eq!(found(benjamini_hochberg(&p)), 4);
        assert_eq!(found(holm(&p)), 3);
        assert!((benjamini_hochberg(&p)[3] - 0.0095 * 15.0 / 4.0).abs() < 1e-15);
    }

    /// By hand: 0.01 x 3, 0.03 x 3 / 2 and 0.04 x 3 / 3, the last holding the second down.
    #[test]
    fn order_is_kept_and_steps_are_level() {
        let near = |a: Vec<f64>, b: [f64; 3]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-15);
        assert!(near(benjamini_hochberg(&[0.04, 0.01, 0.03]), [0.04, 0.03, 0.04]));
        assert!(near(holm(&[0.04, 0.01, 0.03]), [0.06, 0.03, 0.06]));
        assert!(benjamini_hochberg(&[]).is_empty());
    }
}
