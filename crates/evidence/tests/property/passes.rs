//! Tables that are wrong are told why, and none stops the program.

use evidence::effect::effects;
use evidence::passes::Passes;
use proptest::prelude::*;

const HEAD: &str = "pass,sailor,boat,position,tack,wind_kn,vmg_kn,vang_line\n";

/// Why nothing or not all was read or told.
fn reasons(text: &str) -> String {
    match Passes::read(text) {
        Err(error) => error.to_string(),
        Ok(passes) => {
            let found = effects(&passes.value);
            let all = passes.warnings.iter().chain(&found.warnings).map(ToString::to_string).collect::<Vec<_>>();
            format!("{} effects; {}; {}", found.value.effects.len(), all.join("; "), found.value.notes.join("; "))
        }
    }
}

fn day(rows: &[&str]) -> String {
    format!("{HEAD}{}\n", rows.join("\n"))
}

#[test]
fn reasons_are_given() {
    let told = |text: &str, what: &str| assert!(reasons(text).contains(what), "{text}\n{}", reasons(text));
    told("", "no column pass");
    told("pass,sailor,vang_line\n1,A,0\n", "no column vmg_kn");
    told("pass,sailer,vmg_kn,vang_line\n1,A,2,0\n", "is it sailer?");
    told("pass,sailor,vmg_kn\n1,A,2\n", "no column for a setting");
    told("pass,sailor,vmg_kn,vang_lin\n1,A,2,0\n", "is it vang_line?");
    told(&day(&["1,A,a,,,8,2.1,0", "1,B,b,,,8,2.2,1"]), "one pass only");
    told(&day(&["1,A,a,,,8,2.1,0", "1,B,b,,,8,2.2,0", "2,A,a,,,8,2.15,0", "2,B,b,,,8,2.2,0"]), "same value in every pass");
    told(&day(&["1,A,a,,,8,2.1,0", "1,B,b,,,8,2.2,1", "2,A,a,,,8,2.15,0", "2,B,b,,,8,2.2,1"]), "cannot be told from the sailor");
    told(
        &day(&["1,A,a,,,8,nan,0", "1,B,b,,,8,2.2,1", "2,A,a,,,8,2.15,1", "2,B,b,,,8,2.2,0"]),
        "line 2: this row is dropped: vmg_kn: found \"nan\"",
    );
    told(&day(&["1,A,a,,,8,2.1,0", "1,A,a,,,8,2.2,1", "2,A,a,,,8,2.15,1"]), "changed within the pass");
    told(&day(&["1,A,a,beside,,8,2.1,0", "2,A,a,,,8,2.15,1"]), "expected high, low or nothing");
    let one = ["1,A,a,,,8,2.1,0", "2,A,a,,,8,2.2,1", "3,A,a,,,8.1,2.15,0", "4,A,a,,,7.9,2.25,1", "5,A,a,,,8,2.12,0"];
    told(&day(&one), "1 effects");
    told(&day(&one), "one sailor only");
    told(&day(&one), "no pass has two boats");
    let alike: Vec<String> = (1..7).flat_map(|k| [format!("{k},A,a,,,8,2,{}", k % 2), format!("{k},B,b,,,8,2,{}", 1 - k % 2)]).collect();
    told(&format!("{HEAD}{}", alike.join("\n")), "no scatter");
    let boats: Vec<String> = (1..9)
        .flat_map(|k| {
            let (a, b) = if k % 2 == 0 { ("A", "B") } else { ("B", "A") };
            [format!("{k},{a},a,,,8,2.{k},0"), format!("{k},{b},b,,,8,2.{},1", k * k % 7)]
        })
        .collect();
    told(&format!("{HEAD}{}", boats.join("\n")), "boat and setting together");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn no_table_stops_the_program(text in "[a-z0-9,.\n#\"-]{0,300}") {
        reasons(&text);
        reasons(&format!("{HEAD}{text}"));
    }

    #[test]
    fn no_figures_stop_the_program(rows in prop::collection::vec((0u8..5, 0u8..3, 0u8..3, -2.0f64..20.0, 0u8..3, 0.0f64..40.0), 1..24)) {
        let lines: Vec<String> = rows.iter().map(|(p, s, b, v, x, w)| format!("{p},{s},{b},,,{w},{v},{x}")).collect();
        let text = format!("{HEAD}{}", lines.join("\n"));
        if let Ok(passes) = Passes::read(&text) {
            for effect in effects(&passes.value).value.effects {
                let figures = [effect.vmg_difference_ms, effect.sd_ms, effect.df, effect.p, effect.p_adjusted, effect.robust_difference_ms];
                prop_assert!(figures.iter().all(|v| v.is_finite()), "{text}\n{effect:?}");
                prop_assert!((0.0..=1.0).contains(&effect.p) && effect.df >= 1.0);
            }
        }
    }
}
