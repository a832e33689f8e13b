//! The middle of some numbers.

/// The median (the upper of two middles), for which the values are put in order up to there; zero of none.
pub(crate) fn middle(values: &mut [f64]) -> f64 {
    let half = values.len() / 2;
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(half, f64::total_cmp).1 }
}

#[cfg(test)]
mod tests {
    use super::middle;

    #[test]
    fn the_middle_of_three_of_two_and_of_none() {
        assert_eq!(middle(&mut [3.0, 1.0, 2.0]), 2.0);
        assert_eq!(middle(&mut [2.0, 1.0]), 2.0);
        assert_eq!(middle(&mut []), 0.0);
    }
}
