//! A card as the page's data: the document's own words, cut to what fits, and its drawings as SVG.

use boat::spread::Wide;
use measure::Basis;
use serde::Serialize;
use serde_json::{Value, json};

use super::world::Press;
use super::{CardError, Layout};
use crate::briefing::card::{CardDocument, CardRow, Caution, MOST_ROWS, MOST_WORDS, Reading, halves, on_tape};
use crate::drawing::gauge::{self, Labels, Shown};
use crate::drawing::{Picture, posture};
use crate::words::{Words, count, word};

/// The most characters of a name that go to the page, where it is shrunk and then cut to fit.
const LONGEST_NAME: usize = 60;

/// The most characters of any other text.
const LONGEST_TEXT: usize = 160;

/// The most slips with a cost, and the most cautions, on a back side.
const MOST_COSTS: usize = 3;
const MOST_CAUTIONS: usize = 4;

/// A picture as the page takes it.
#[derive(Serialize)]
pub(super) struct Figure {
    svg: String,
    alt: String,
    width: f64,
    height: f64,
}

impl From<Picture> for Figure {
    fn from(picture: Picture) -> Self {
        Self { svg: picture.svg(), width: picture.width, height: picture.height, alt: picture.alt }
    }
}

/// A text as it can be printed: what the fonts can draw, no longer than `longest`.
pub(super) fn printable(press: &Press, text: &str, longest: usize) -> String {
    press.drawable(&text.chars().take(longest * 4).collect::<String>()).trim().chars().take(longest).collect()
}

/// A label, or a word in its place where nothing of it can be printed.
pub(super) fn name(press: &Press, words: &Words, text: &str) -> String {
    let name = printable(press, text, LONGEST_NAME);
    if name.is_empty() { word(&words.card, "no_name").to_owned() } else { name }
}

/// All cards as JSON.
pub(super) fn page(press: &Press, words: &Words, cards: &[CardDocument], layout: Layout) -> Result<String, CardError> {
    let cards: Vec<Value> = cards.iter().map(|card| side(press, words, card)).collect();
    let layout = if layout == Layout::A6 { "a6" } else { "a4" };
    Ok(serde_json::to_string(&json!({ "layout": layout, "words": words.card, "cards": cards }))?)
}

/// How many rows, from the first, leave the front side with no more words than a child reads in the wet.
fn rows_that_fit(words: &Words, card: &CardDocument) -> usize {
    let caution = card.over_limit.iter().flat_map(|c| [&c.fact, &c.deed, &c.who]);
    let winds = card.columns.iter().flat_map(|c| [&c.range, &c.sea]);
    let own = [&card.sailor, &card.boat, &card.date, &card.wind_unit, &card.unit, &card.puff, &card.lull];
    let heads = ["lighter", "as_forecast", "stronger", "puff", "lull"].map(|key| count(word(&words.card, key)));
    let mut total = count(word(&words.posture, card.posture.key())) + heads.iter().sum::<usize>();
    total += caution.chain(winds).chain(own).map(|text| count(text)).sum::<usize>();
    let of_row = |row: &CardRow| {
        let values: usize = row.values.iter().map(|v| count(&v.text) + count(&v.hand)).sum();
        count(&row.name) + row.unit.as_deref().map_or(0, count) + usize::from(row.was.is_some()) + values
    };
    fitting(total, card.rows.iter().take(MOST_ROWS).map(of_row))
}

/// What a back side has room for within its words: cautions before all, then where the tape starts, then slips.
struct Room {
    cautions: usize,
    tape_from: bool,
    costs: usize,
}

fn room(words: &Words, card: &CardDocument) -> Room {
    let of = |table, keys: &[&str]| keys.iter().map(|key| count(word(table, key))).sum::<usize>();
    let own = [&card.protocol, &card.before_windward, &card.around_leeward];
    let base = of(&words.card, &["measure", "before_windward", "around_leeward"])
        + of(&words.drawing, &["boom_end", "car", "boom", "sail", "pen_line"])
        + own.into_iter().map(|text| count(text)).sum::<usize>();
    let each: Vec<usize> = card.cautions.iter().map(|c| [&c.fact, &c.deed, &c.who].iter().map(|text| count(text)).sum()).collect();
    let all = each.len() <= MOST_CAUTIONS && base + each.iter().sum::<usize>() <= MOST_WORDS;
    // That there are more is said in words that must have their room too.
    let more = if all { 0 } else { of(&words.card, &["more", "more_deed"]) };
    let cautions = fitting(base + more, each.iter().copied().take(if all { each.len() } else { MOST_CAUTIONS - 1 }));
    let mut total = base + more + each.iter().take(cautions).sum::<usize>();
    let tape = count(&card.tape_from);
    let tape_from = total + tape <= MOST_WORDS;
    total += if tape_from { tape } else { 0 };
    let high = cautions + usize::from(!all);
    let costs = fitting(total + of(&words.card, &["costs"]), card.costs.iter().take(MOST_COSTS).map(|cost| count(&cost.name)));
    // A block of slips stands where two cautions would.
    Room { cautions, tape_from, costs: if high > 2 { 0 } else { costs } }
}

/// How many of these word counts, from the first, can be added to `total` within a side's words.
fn fitting(mut total: usize, counts: impl Iterator<Item = usize>) -> usize {
    counts
        .take_while(|count| {
            total += count;
            total <= MOST_WORDS
        })
        .count()
}

/// One card, both sides.
fn side(press: &Press, words: &Words, card: &CardDocument) -> Value {
    let room = room(words, card);
    let say = |text: &str| printable(press, text, LONGEST_TEXT);
    let warn = |c: &Caution| json!({ "fact": say(&c.fact), "deed": say(&c.deed), "who": say(&c.who) });
    let rows: Vec<Value> = card
        .rows
        .iter()
        .take(rows_that_fit(words, card))
        .map(|row| {
            let values = row.values.each_ref().map(|value| {
                // A mark instead of words where the band is wide because we do not know: the side has few of them.
                let mark = if value.larger == Some(Wide::DoNotKnow.words()) { "?" } else { "" };
                json!({
                    "text": printable(press, &value.text, 8),
                    "hand": printable(press, &value.hand, 24),
                    "band": value.band.as_ref().map(|(low, high)| [printable(press, low, 5), format!("{}{mark}", printable(press, high, 5))]),
                })
            });
            let was = row.was.as_ref().map(|was| word(&words.card, "was").replace("{x}", &printable(press, was, 8)));
            json!({ "name": say(&row.name), "unit": row.unit.as_deref().map(say), "values": values, "was": was, "rests": row.rests.words() })
        })
        .collect();
    let columns = card.columns.each_ref().map(|c| json!({ "range": say(&c.range), "sea": say(&c.sea) }));
    let longest = card.costs.iter().take(MOST_COSTS).fold(1.0_f64, |l, c| if c.high.is_finite() { l.max(c.high.ceil()) } else { l });
    let costs: Vec<Value> = card
        .costs
        .iter()
        .take(room.costs)
        .map(|cost| {
            let alt = word(&words.drawing, "cost_alt")
                .replace("{x}", &halves(cost.value))
                .replace("{low}", &halves(cost.low))
                .replace("{high}", &halves(cost.high));
            let chain = Figure::from(gauge::cost_chain(cost.low, cost.value, cost.high, longest, 39.0, &alt));
            json!({ "name": say(&cost.name), "text": halves(cost.value), "chain": chain })
        })
        .collect();
    json!({
        "sailor": name(press, words, &card.sailor),
        "boat": name(press, words, &card.boat),
        "date": printable(press, &card.date, 24),
        "headline": word(&words.posture, card.posture.key()),
        "figure": Figure::from(posture::figure(card.posture, &card.shape, 37.0, 19.0, word(&words.posture_alt, card.posture.key()))),
        "wind_unit": say(&card.wind_unit),
        "unit": say(&card.unit),
        "columns": columns,
        "rows": rows,
        "puff": say(&card.puff),
        "lull": say(&card.lull),
        "over_limit": card.over_limit.as_ref().map(warn),
        "cautions": card.cautions.iter().take(room.cautions).map(warn).collect::<Vec<_>>(),
        "more": room.cautions < card.cautions.len(),
        "protocol": say(&card.protocol),
        "tape_from": if room.tape_from { say(&card.tape_from) } else { String::new() },
        "costs": costs,
        "before_windward": say(&card.before_windward),
        "around_leeward": say(&card.around_leeward),
        "deeds_rest": card.deeds_rest.map(Basis::words),
        "drawings": drawings(words, card),
    })
}

/// The drawings of the places measured; what the class lacks is absent.
#[derive(Debug)]
pub(crate) struct Drawn {
    /// The boat from behind, with boom end and car.
    pub(crate) transom: Option<Picture>,
    /// The gap from boom to sail, from above.
    pub(crate) gap: Option<Picture>,
    /// The board at the rail.
    pub(crate) board: Option<Picture>,
    /// The boat from the side.
    pub(crate) side: Picture,
}

/// What a card's readings look like.
pub(crate) fn drawn(words: &Words, card: &CardDocument) -> Drawn {
    let label = |key| word(&words.drawing, key);
    let labels =
        Labels { boom_end: label("boom_end"), car: label("car"), boom: label("boom"), sail: label("sail"), pen_line: label("pen_line") };
    let readings = &card.readings;
    let written = |reading: &Option<Reading>| reading.map(|r| (r, on_tape(r.value / card.unit_length)));
    let (boom_end, car) = (written(&readings.boom_end), written(&readings.car));
    let (gap, board) = (written(&readings.sail_boom_gap), written(&readings.board));
    let alt = |key, text: &str| label(key).replace("{x}", &format!("{text} {}", card.unit));
    let transom_alt = [boom_end.as_ref().map(|b| alt("transom_alt", &b.1)), car.as_ref().map(|c| alt("car_alt", &c.1))];
    let boom_shown = boom_end.as_ref().map(|(reading, text)| Shown { reading: *reading, text });
    let car_shown = car.as_ref().map(|(reading, text)| Shown { reading: *reading, text });
    Drawn {
        transom: (boom_shown.is_some() || car_shown.is_some()).then(|| {
            let alt = transom_alt.into_iter().flatten().collect::<Vec<_>>().join(" ");
            gauge::transom(&card.shape, boom_shown.as_ref(), car_shown.as_ref(), &labels, 52.0, 32.0, &alt)
        }),
        gap: gap
            .map(|(reading, text)| gauge::gap(&Shown { reading, text: &text }, &card.hand, &labels, 38.0, 33.0, &alt("gap_alt", &text))),
        board: board.map(|(reading, text)| {
            gauge::board(&Shown { reading, text: &text }, &card.hand, &labels, 27.0, 31.0, &alt("board_alt", &text))
        }),
        side: card.shape.from_the_side(30.0, 34.0, label("side_alt")),
    }
}

/// The drawings of the back side, as the page takes them.
fn drawings(words: &Words, card: &CardDocument) -> Value {
    let drawn = drawn(words, card);
    json!({
        "transom": drawn.transom.map(Figure::from),
        "gap": drawn.gap.map(Figure::from),
        "board": drawn.board.map(Figure::from),
        "side": Figure::from(drawn.side),
    })
}
