//! Cards for twelve invented sailors: words and sizes counted on the laid out page, bytes compared, rough input tried.

use advice::caution::{Cautions, Facts, Limits};
use boat::crew::Skill;
use measure::quantity::KNOT;
use measure::{Basis, Temperature};
use typst::layout::{Abs, Frame, FrameItem, Point};

use super::*;
use crate::briefing::card::{CardRow, CardValue, Caution, Cost, Hand, Posture, Reading, Readings, WindColumn, on_tape, quarters};
use crate::drawing::boat::tests::pram;
use crate::words::{count, word};

/// Twelve invented sailors and boats.
const SQUAD: [(&str, &str); 12] = [
    ("Mika", "Plover"),
    ("Oda", "Dunlin"),
    ("Tarek", "Turnstone"),
    ("Inés", "Sanderling"),
    ("Bo", "Knot"),
    ("Anneliese", "Oystercatcher"),
    ("Jonas", "Avocet"),
    ("Wren", "Curlew"),
    ("Zoë", "Teal"),
    ("Kasimir", "Redshank"),
    ("Lu", "Godwit"),
    ("Maëlle", "Whimbrel"),
];

/// A row of three lengths in cm, with its words by hand.
fn row(words: &Words, gauge: &'static str, cm: [f64; 3], hand: impl Fn(f64) -> String) -> CardRow {
    let values = cm.map(|v| CardValue {
        text: on_tape(v),
        hand: hand(v / 100.0),
        band: Some((on_tape((v - 2.0).max(0.0)), on_tape(v + 2.0))),
        larger: None,
    });
    CardRow { gauge, name: words.gauge[gauge].name.clone(), unit: None, values, was: None, rests: Basis::Theory }
}

/// One sailor's card on an invented day.
fn card(sailor: &str, boat: &str) -> CardDocument {
    let words = Words::english().unwrap();
    let hand = Hand::from_length(0.16);
    let by_hand = |v: f64| hand.words(v, &words.hand);
    let mut rows = vec![
        row(&words, "boom_end_dock", [22.0, 19.0, 16.0], by_hand),
        row(&words, "sail_boom_gap", [8.0, 6.0, 3.0], by_hand),
        row(&words, "car", [0.0, 12.0, 24.0], |v| quarters(v, 0.42, &words.hand)),
        row(&words, "downhaul_line", [0.0, 1.5, 3.0], by_hand),
        row(&words, "board", [0.0, 2.0, 4.0], |v| hand.thumbs(v, &words.hand)),
    ];
    rows[0].was = Some("22".to_owned());
    rows[1].rests = Basis::Published;
    rows[3].rests = Basis::CommonPractice;
    rows[4].rests = Basis::OwnLineUps;
    let reading = |value: f64, others| Some(Reading { value, band: Some((value - 0.02, value + 0.02)), others });
    let cost = |name: &str, low, value, high| Cost { name: name.to_owned(), low, value, high };
    CardDocument {
        sailor: sailor.to_owned(),
        boat: boat.to_owned(),
        date: "14 June".to_owned(),
        posture: Posture::FlatOut,
        wind_unit: "knots".to_owned(),
        unit: "cm".to_owned(),
        unit_length: 0.01,
        columns: [("5–7", 6.0), ("8–11", 9.5), ("12–15", 13.5)]
            .map(|(range, knots)| WindColumn { range: range.to_owned(), sea: words.sea_look(knots).to_owned() }),
        rows,
        puff: words.puff["flat_out"].clone(),
        lull: words.lull["flat_out"].clone(),
        over_limit: None,
        cautions: vec![caution("cold_water")],
        protocol: word(&words.card, "protocol").to_owned(),
        tape_from: word(&words.card, "tape_from").replace("{x}", "transom top, boom, rudder, pen line"),
        costs: vec![cost("Heeling", 5.5, 8.5, 12.0), cost("Sheet tight in lulls", 3.0, 5.5, 8.0), cost("Boom end high", 1.5, 2.0, 3.0)],
        // The longest that a plan says, in a blow.
        before_windward: "vang off first! At it: sheet out, board up, downhaul off.".to_owned(),
        around_leeward: "14 lengths: downhaul on, 10: board down, 6: sheet in.".to_owned(),
        deeds_rest: [Basis::Theory, Basis::CommonPractice],
        hand,
        shape: pram(),
        readings: Readings {
            boom_end: reading(0.19, (0.22, 0.16)),
            car: reading(0.12, (0.0, 0.24)),
            sail_boom_gap: reading(0.06, (0.08, 0.03)),
            board: reading(0.02, (0.0, 0.04)),
        },
    }
}

/// What a card says of a caution, by the data that come with the program.
fn caution(key: &str) -> Caution {
    let facts = Facts {
        gust: 22.0 * KNOT,
        water: Some(Temperature::celsius(11.0)),
        offshore: Some(true),
        against_tide: Some(true),
        thunder: Some(true),
        safety_boats: Some((1, 9)),
        daylight: Some(4000.0),
        preventer: true,
    };
    let limits: String = Skill::ALL.map(|s| format!("[[limit]]\nclass = \"pram\"\nskill = \"{}\"\ngust = \"13 kn\"\n", s.words())).concat();
    let limits = Limits::read(&limits, "").unwrap();
    let standard = Cautions::standard().unwrap();
    let mut said = standard.said(&facts, &limits, "pram", Skill::Races);
    said.extend(standard.said(&facts, &Limits::default(), "pram", Skill::Races));
    said.extend(standard.said(&Facts { safety_boats: Some((0, 9)), ..facts }, &limits, "pram", Skill::Races));
    let found = said.into_iter().find(|c| c.key == key).unwrap().card;
    Caution { fact: found.fact, deed: found.deed, who: found.who }
}

fn squad() -> Vec<CardDocument> {
    SQUAD.iter().map(|(sailor, boat)| card(sailor, boat)).collect()
}

/// A text on a page: what it says, its size in points, and where its box starts and ends in mm.
struct Printed {
    text: String,
    size: f64,
    from: (f64, f64),
    to: (f64, f64),
}

fn printed(frame: &Frame, origin: Point, into: &mut Vec<Printed>) {
    for (place, item) in frame.items() {
        let at = origin + *place;
        match item {
            FrameItem::Group(group) => printed(&group.frame, at, into),
            FrameItem::Text(text) => {
                into.push(Printed {
                    text: text.text.to_string(),
                    size: text.size.to_pt(),
                    from: (at.x.to_mm(), (at.y - text.size * 0.7).to_mm()),
                    to: ((at.x + text.width()).to_mm(), (at.y + text.size * 0.25).to_mm()),
                });
            }
            _ => {}
        }
    }
}

/// The texts of every page of these cards.
fn pages(cards: &[CardDocument], layout: Layout) -> Vec<Vec<Printed>> {
    let press = Press::new();
    let data = side::page(&press, &Words::english().unwrap(), cards, layout).unwrap();
    let document = press.lay_out(CARD, data).unwrap();
    document
        .pages()
        .iter()
        .map(|page| {
            let mut texts = Vec::new();
            printed(&page.frame, Point::zero(), &mut texts);
            texts
        })
        .collect()
}

/// Words of the drawings on a back side.
const DRAWN: &str = "boom end car boom sail pen line";

/// Nothing runs over the margins, nothing is under 10 points, and no side has more than 60 words.
fn fits(cards: &[CardDocument]) {
    for (n, page) in pages(cards, Layout::A6).iter().enumerate() {
        let back = n % 2 == 1;
        let words: usize = page.iter().map(|t| count(&t.text)).sum::<usize>() + if back { count(DRAWN) } else { 0 };
        let said: Vec<_> = page.iter().map(|t| t.text.as_str()).collect();
        assert!(words <= 60, "side {n} has {words} words: {said:?}");
        for t in page {
            assert!(t.size >= 9.999, "side {n}: {:?} in {} points", t.text, t.size);
            let inside = t.from.0 >= 4.9 && t.to.0 <= 100.3 && t.from.1 >= 2.0 && t.to.1 <= 145.5;
            assert!(inside, "side {n}: {:?} from {:?} to {:?} mm runs over", t.text, t.from, t.to);
        }
        // No text stands on another: what is above the base line of each, less a hair.
        const HAIR: f64 = 0.2;
        let body = |t: &Printed| (t.from.0 + HAIR, t.from.1 + HAIR, t.to.0 - HAIR, t.from.1 + t.size * 0.7 * 25.4 / 72.0 - HAIR);
        for (i, a) in page.iter().enumerate() {
            for b in &page[..i] {
                let (p, q) = (body(a), body(b));
                let apart = p.2 <= q.0 || q.2 <= p.0 || p.3 <= q.1 || q.3 <= p.1;
                assert!(apart, "side {n}: {:?} and {:?} stand on each other", a.text, b.text);
            }
        }
    }
}

/// A writer of the pages as files, for eyes: where `TRIMWRIGHT_LOOK` names a folder.
fn keep(name: &str, bytes: &[u8]) {
    if let Some(folder) = std::env::var_os("TRIMWRIGHT_LOOK") {
        std::fs::write(std::path::Path::new(&folder).join(name), bytes).unwrap();
    }
}

#[test]
fn twelve_cards_fit_and_repeat() {
    let squad = squad();
    let a6 = pdf(&squad, &Layout::A6).unwrap();
    keep("a6.pdf", &a6);
    fits(&squad);
    assert!(a6.starts_with(b"%PDF"));
    assert_eq!(a6, pdf(&squad, &Layout::A6).unwrap(), "equal cards give equal bytes");
    let a4 = pdf(&squad, &Layout::FourToA4).unwrap();
    keep("a4.pdf", &a4);
    assert_eq!(pages(&squad, Layout::FourToA4).len(), 6, "three sheets, both sides");
    assert!(matches!(pdf(&[], &Layout::A6), Err(CardError::Nothing)));
}

#[test]
fn every_card_fits_whatever_the_day() {
    let words = Words::english().unwrap();
    let mut cards = Vec::new();
    for rows in 1..=5 {
        for posture in [Posture::Inside, Posture::OnTheSide, Posture::FlatOut] {
            let mut card = card("Anneliese-Wilhelmine Featherstonehaugh", "Oystercatcher the Second");
            card.rows.truncate(rows);
            card.posture = posture;
            card.puff = words.puff[posture.key()].clone();
            card.lull = words.lull[posture.key()].clone();
            cards.push(card);
        }
    }
    let mut over = card("Mika", "Plover");
    over.over_limit = Some(caution("over_limit"));
    over.cautions.push(caution("thunder"));
    over.costs.truncate(2);
    cards.push(over);
    let mut bare = card("Mika", "Plover");
    (bare.readings, bare.costs, bare.cautions, bare.shape.board) = (Readings::default(), Vec::new(), Vec::new(), None);
    cards.push(bare);
    let mut aft = card("Mika", "Plover");
    let behind = |value: f64| Some(Reading { value, band: Some((value - 0.01, value + 0.01)), others: (value, 0.0) });
    (aft.readings.board, aft.readings.car) = (behind(-0.03), behind(-0.10));
    cards.push(aft);
    // Every caution there is, more and more of them at once.
    let keys = [
        "thunder",
        "cold_water",
        "offshore_wind",
        "few_safety_boats",
        "no_safety_boat",
        "wind_against_tide",
        "daylight",
        "preventer",
        "no_limit",
    ];
    for many in 0..=keys.len() {
        let mut card = card("Mika", "Plover");
        card.cautions = keys[..many].iter().map(|key| caution(key)).collect();
        cards.push(card.clone());
        card.cautions = keys[keys.len() - many..].iter().map(|key| caution(key)).collect();
        card.over_limit = Some(caution("over_limit"));
        cards.push(card);
    }
    // The longest a hand says, in every column.
    let mut long = card("Mika", "Plover");
    long.rows[0] = row(&words, "boom_end_dock", [46.0, 46.5, 46.5], |v| Hand::from_length(0.16).words(v, &words.hand));
    cards.push(long.clone());
    // Halves beside a band of halves, the widest a cell has.
    long.rows[0] = row(&words, "boom_end_dock", [9.5, 9.5, 9.5], |v| Hand::from_length(0.115).words(v, &words.hand));
    cards.push(long);
    keep("days.pdf", &pdf(&cards, &Layout::A6).unwrap());
    fits(&cards);
}

#[test]
fn rough_names_break_nothing() {
    let long = "x".repeat(10_000);
    let rough = [
        "#import \"@preview/x\" *b* $x$",
        "<svg>&\"'",
        "\u{1F6A3}\u{200D}\u{2640}\u{FE0F}",
        "",
        "  ",
        long.as_str(),
        "\u{202E}abc\u{0000}\n\t",
        "帆",
        "#panic()",
    ];
    let cards: Vec<CardDocument> = rough.iter().map(|name| card(name, name)).collect();
    keep("rough.pdf", &pdf(&cards, &Layout::A6).unwrap());
    fits(&cards);
    let first: String = pages(&cards[..1], Layout::A6)[0].iter().map(|t| t.text.as_str()).collect();
    assert!(first.contains("#import"), "a name is printed as it was typed: {first}");
    let mut wild = card("Mika", "Plover");
    for r in [f64::NAN, f64::INFINITY, -1e300, 1e300] {
        wild.readings.boom_end = Some(Reading { value: r, band: Some((r, r)), others: (r, r) });
        wild.readings.car = wild.readings.boom_end;
        wild.readings.board = wild.readings.boom_end;
        wild.readings.sail_boom_gap = wild.readings.boom_end;
        wild.costs[0] = Cost { name: long.clone(), low: r, value: r, high: r };
        wild.puff = long.clone();
        assert!(pdf(std::slice::from_ref(&wild), &Layout::A6).is_ok());
        assert!(strips_pdf(std::slice::from_ref(&wild)).is_ok());
    }
}

/// A card has nowhere to say what a child weighs: no word or unit of mass is on it.
#[test]
fn no_mass_on_any_side() {
    for page in pages(&squad(), Layout::A6) {
        for t in page {
            let unit =
                t.text.split_whitespace().any(|w| ["kg", "lb", "mass", "weight"].contains(&w.trim_matches(|c: char| !c.is_alphabetic())));
            assert!(!unit, "{:?}", t.text);
        }
    }
}

#[test]
fn strips_are_true_size() {
    let bytes = strips_pdf(&squad()[..1]).unwrap();
    keep("strips.pdf", &bytes);
    assert_eq!(bytes, strips_pdf(&squad()[..1]).unwrap());
    // The pictures keep their own size in mm on the laid out page: the bar is 101 mm wide with half a millimetre of margin each side.
    let press = Press::new();
    let document = press.lay_out(STRIPS, strips::page(&press, &Words::english().unwrap(), &squad()[..1]).unwrap()).unwrap();
    let mut sizes = Vec::new();
    fn pictures(frame: &Frame, sizes: &mut Vec<(Abs, Abs)>) {
        for (_, item) in frame.items() {
            match item {
                FrameItem::Group(group) => pictures(&group.frame, sizes),
                FrameItem::Image(_, size, _) => sizes.push((size.x, size.y)),
                _ => {}
            }
        }
    }
    document.pages().iter().for_each(|page| pictures(&page.frame, &mut sizes));
    // A picture's size passes through single precision on its way.
    const SINGLE: f64 = 1e-4;
    let near = |a: Abs, mm: f64| (a.to_mm() - mm).abs() < SINGLE;
    assert!(sizes.iter().any(|s| near(s.0, 101.0) && near(s.1, 9.0)), "{sizes:?}");
    assert_eq!(sizes.iter().filter(|s| near(s.0, 26.0) && near(s.1, 260.0)).count(), 2, "{sizes:?}");
    assert_eq!(document.pages().len(), 1);
}
