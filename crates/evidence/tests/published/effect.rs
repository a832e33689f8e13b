//! The analysis of passes and the paired t against two published answers.

use evidence::effect::{effects, paired};
use evidence::passes::Passes;

/// 1852 m an hour.
const KNOT: f64 = 1852.0 / 3600.0;

/// Darwin's maize: the source line of the table.
#[test]
fn darwin() {
    let text = include_str!("darwin_zeamays.csv");
    let differences: Vec<f64> = text.lines().skip(2).map(|line| line.rsplit(',').next().unwrap().parse().unwrap()).collect();
    let found = paired(&differences).unwrap();
    assert!((found.t - 2.147987).abs() < 1e-6 && (found.p - 0.049703).abs() < 1e-6, "{found:?}");
}

/// The source line of the table; its paired answer: t 2.2181, p .0485, between .000283 and .072917 kn.
#[test]
fn line_up() {
    let passes = Passes::read(include_str!("mixed_lineup.csv")).unwrap();
    assert_eq!(passes.warnings, vec![]);
    let found = effects(&passes.value);
    assert_eq!(found.warnings, vec![]);
    let [effect] = &found.value.effects[..] else { panic!("{found:?}") };
    assert_eq!((effect.gauge.as_str(), effect.from, effect.to, effect.passes), ("B", 0.0, 1.0, 12));
    assert!((effect.vmg_difference_ms / KNOT - 0.037483).abs() < 1e-6);
    assert!((effect.sd_ms / KNOT - 0.014419).abs() < 1e-6);
    assert!((effect.df - 9.997).abs() < 1e-3 && (effect.p - 0.0265).abs() < 5e-5, "{effect:?}");
    let paired = effect.paired.unwrap();
    assert!((paired.t - 2.2181).abs() < 5e-5 && (paired.p - 0.0485).abs() < 5e-5);
    assert!((paired.low_ms / KNOT - 0.000283).abs() < 1e-6 && (paired.high_ms / KNOT - 0.072917).abs() < 1e-6);
}
