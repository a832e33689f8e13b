//! The buoys of the day (Race day) as the course marks of its debrief: where they lie is known better from the coach boat than from where
//! children turn, so that what a rounding cost is known better too. The coach may go without; buoys that lie off the tracks are left out.

use std::sync::Arc;

use axum::extract::State;
use maud::{Markup, html};
use measure::LocalPlane;
use squad::fact::outing::Outing as OutingFact;
use squad::{Id, Kept, SquadError, Store};
use track::Smooth;
use track::debrief::GivenMark;

use super::super::units::Units;
use super::super::yard::{Yard, lock};
use super::super::{Answer, Sent, later};
use super::{Told, id};
use crate::race_day::laid::to_round;

/// A buoy that no boat came nearer to than this is of another course, m. Assumed: a lap round a buoy passes it by some lengths.
const OFF: f64 = 60.0;

/// The buoys of an outing's day that boats round.
#[derive(Debug, Clone, Default)]
pub(super) struct Buoys {
    /// Those its debrief rests on.
    pub(super) laid: Vec<GivenMark>,
    /// Whether there are some that the coach goes without.
    without: bool,
    /// Why some are left out.
    pub(super) doubts: Vec<String>,
}

impl Buoys {
    /// Those that the tracks come near to.
    pub(super) fn near(self, tracks: &[Smooth], plane: &LocalPlane) -> Self {
        let comes_near = |mark: &GivenMark| {
            let (x, y) = plane.xy(mark.position);
            tracks.iter().any(|t| t.x.iter().zip(&t.y).any(|(e, n)| (e - x).hypot(n - y) < OFF))
        };
        let (laid, off): (Vec<_>, Vec<_>) = self.laid.into_iter().partition(comes_near);
        let said = off.iter().map(|m| {
            format!("the day's buoy \"{}\" lies more than {OFF:.0} m off every track: it is left out. Was it moved, or is it of another course?", m.name)
        });
        Self { laid, doubts: self.doubts.into_iter().chain(said).collect(), ..self }
    }
}

impl Yard {
    /// Whether the coach goes without the day's buoys on an outing.
    pub(in super::super) fn without_buoys(&self, of: Id<OutingFact>) -> bool {
        lock(&self.without_buoys).contains(&of)
    }

    /// The buoys of an outing's day; none where nothing is laid, or the coach goes without.
    pub(super) fn buoys(&self, store: &Store, of: &Kept<OutingFact>) -> Result<Buoys, SquadError> {
        let Some((day, course)) = store.get(of.fact.day)?.zip(store.course_of(of.fact.day)?) else { return Ok(Buoys::default()) };
        Ok(match to_round(&course.fact, day.fact.date.0) {
            Ok(laid) if self.without_buoys(of.id) => Buoys { without: !laid.is_empty(), ..Buoys::default() },
            Ok(laid) => Buoys { laid, ..Buoys::default() },
            Err(why) => Buoys {
                doubts: vec![format!("the day's buoys cannot be read, so course marks are sought in the tracks: {why}")],
                ..Buoys::default()
            },
        })
    }
}

/// Which course marks the debrief rests on, and how to go without.
pub(super) fn told(told: &Told, of: &Kept<OutingFact>) -> Markup {
    let buoys = &told.buoys;
    let press = |with: &str, says: &str| {
        html! { form.inline method="post" action="/ashore/buoys" {
            input type="hidden" name="outing" value=(of.id); input type="hidden" name="with" value=(with); button.second { (says) }
        } }
    };
    html! { @if !buoys.laid.is_empty() || buoys.without { section {
        h2 { "Where the course marks lay" }
        @if buoys.without { p { "Sought in the tracks, where boats turn: to " (Units::now().over_water().whole(10.0)) " or so. The day's buoys are left out." } (press("yes", "Take the day's buoys")) }
        @else {
            p { b { "Course marks from the day's buoys: " (buoys.laid.iter().map(|m| m.name.as_str()).collect::<Vec<_>>().join(", ")) "." } " They are those of Race day. Roundings are measured from there." }
            (press("no", "Go without: seek them in the tracks"))
        }
        p.small { "What is chosen here holds until the program stops; then the day's buoys are taken again." }
    } } }
}

/// The coach takes the day's buoys, or goes without.
pub(in super::super) async fn by_buoys(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let outing = id(form.text("outing"))?;
    {
        let mut without = lock(&yard.without_buoys);
        if form.text("with") == "no" {
            without.insert(outing)
        } else {
            without.remove(&outing)
        };
    }
    Ok(later(&format!("/ashore?outing={outing}&coach=1")))
}
