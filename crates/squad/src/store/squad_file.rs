//! Squad files into the store, and the store's squad as a squad file would have it, so that both give the same answers.

use std::collections::BTreeMap;

use boat::crew::{Sailor as Body, usual_stature};
use measure::{Length, Mass, Warned, Warning};

use super::Store;
use super::merge::Merged;
use crate::error::SquadError;
use crate::fact::boat_facts::{BaseSetting, Boat, NotchHeight, Reading};
use crate::fact::day::{Crewed, span};
use crate::fact::sailor::Sailor;
use crate::fact::weigh::WeighIn;
use crate::fact::{Edit, Fact, HiddenMass, Kept, Writer};
use crate::id::{Date, Id, Moment};
use crate::squad::{Crew, Squad, SquadBoat, SquadSailor, stature_of, usual_hand};

impl Store {
    /// Brings in a squad file: sailors and boats are known by their labels; what differs from the store is written, at the
    /// writer's moment; the same file again writes nothing.
    ///
    /// # Errors
    /// When the store cannot be written, or a fact cannot be right: then nothing was brought in.
    pub fn import_squad(&mut self, squad: &Squad, writer: &Writer) -> Result<Merged, SquadError> {
        let whole = self.begun()?;
        let mut merged = Merged::default();
        for crew in &squad.crews {
            let boat = Boat { label: crew.boat.label.clone(), class: crew.boat.class.clone() };
            let there = self.boat_labelled(&boat.label)?;
            // A file that names no class takes none away.
            let boat = Boat { class: boat.class.or_else(|| there.as_ref().and_then(|b| b.fact.class.clone())), ..boat };
            let boat = self.put(there, boat, writer, &mut merged)?;
            self.put_boat_facts(boat, crew, writer, &mut merged)?;
            self.put_sailor(boat, crew, writer, &mut merged)?;
        }
        whole.commit().map_err(|error| self.told(error))?;
        Ok(merged)
    }

    /// Writes a fact where it is not there or differs.
    fn put<T: Fact>(&self, there: Option<Kept<T>>, fact: T, writer: &Writer, merged: &mut Merged) -> Result<Id<T>, SquadError> {
        let id = match there {
            Some(there) if there.fact == fact => {
                merged.known += 1;
                return Ok(there.id);
            }
            Some(there) => match self.edited(there.id, there.version, &fact, writer)? {
                Edit::Written(kept) => {
                    merged.changed += 1;
                    kept.id
                }
                Edit::Overtaken(_) => return Err(SquadError::Locked { place: self.place().display().to_string() }),
            },
            None => {
                merged.added += 1;
                self.added(Id::random()?, &fact, writer, |_| Ok(()))?.id
            }
        };
        *merged.by_kind.entry(T::TABLE.kind.to_owned()).or_default() += 1;
        Ok(id)
    }

    fn put_sailor(&self, boat: Id<Boat>, crew: &Crew, writer: &Writer, merged: &mut Merged) -> Result<(), SquadError> {
        let sailor = &crew.sailor;
        let body = sailor.body;
        let there = self.sailor_labelled(&sailor.label)?;
        let fact = Sailor {
            label: sailor.label.clone(),
            name: there.as_ref().and_then(|s| s.fact.name.clone()),
            mass_kg: Some(HiddenMass::kilograms(fifteen(body.mass))),
            // What follows from the mass is no fact: it is left out, and follows from the next mass too.
            stature_m: (body.stature != usual_stature(body.mass)).then_some(fifteen(body.stature)),
            hand_m: (sailor.hand != usual_hand(body.stature)).then_some(fifteen(sailor.hand.in_metres())),
            skill: body.skill,
            sail: sailor.sail.clone(),
            boat: Some(boat),
        };
        self.put(there, fact, writer, merged).map(|_| ())
    }

    fn put_boat_facts(&self, boat: Id<Boat>, crew: &Crew, writer: &Writer, merged: &mut Merged) -> Result<(), SquadError> {
        let at = writer.at;
        let written = &crew.boat;
        let now = self.boat_as_known(boat, [Moment::of_millis(0), Moment::of_millis(i64::MAX)])?;
        let water = written.water_found.map_or(0.0, Mass::in_kilograms);
        if let Some(hull) = written.hull_mass {
            let hull = hull.in_kilograms();
            let weigh_in = WeighIn {
                boat,
                at,
                on_scale: "as the squad file has it".to_owned(),
                reading_kg: hull + water,
                trolley_kg: None,
                water_kg: water,
                correctors_kg: 0.0,
                scale_error_kg: None,
            };
            let same = now.hull_mass.map(Mass::in_kilograms) == Some(weigh_in.dry_kg())
                && fifteen(now.water_found.map_or(0.0, Mass::in_kilograms)) == fifteen(water);
            if same { merged.known += 1 } else { self.put(None, weigh_in, writer, merged).map(|_| ())? }
        }
        if let Some(two) = written.boom_end {
            for reading in two {
                let height_m = fifteen(reading.height.in_metres());
                let same =
                    now.boom_end.is_some_and(|known| known.iter().any(|k| k.notch == reading.notch && k.height.in_metres() == height_m));
                if same {
                    merged.known += 1;
                } else {
                    self.put(None, NotchHeight { boat, at, notch: reading.notch, height_m }, writer, merged)?;
                }
            }
        }
        for (&gauge, &setting) in &written.base {
            if now.base.get(&gauge) == Some(&fifteen(setting)) {
                merged.known += 1;
            } else {
                self.put(None, BaseSetting { boat, at, gauge, setting }, writer, merged)?;
            }
        }
        for (&gauge, &setting) in &written.rigged {
            if now.rigged.get(&gauge) == Some(&fifteen(setting)) {
                merged.known += 1;
            } else {
                self.put(None, Reading { boat, at, gauge, setting, measured_by: writer.by.clone() }, writer, merged)?;
            }
        }
        Ok(())
    }

    /// The squad as it was known at the end of a day: who is in which boat that day, else in their usual one; each boat's last
    /// weigh-in, notches, base setup and readings until then. In launch order, then by label. A sailor without mass or boat is
    /// left out with the reason.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn squad(&self, on: Option<Date>) -> Result<Warned<Squad>, SquadError> {
        let mut until = Moment::of_millis(i64::MAX);
        let mut crewed: Vec<Kept<Crewed>> = Vec::new();
        if let Some(date) = on {
            let days = self.days_on(date)?;
            let ends = days.iter().map(|d| d.fact.span()[1]).max();
            until = ends.unwrap_or_else(|| span(date, &jiff::tz::TimeZone::system())[1]);
            for day in &days {
                crewed.extend(self.crews_of(day.id)?);
            }
        }
        let boats: BTreeMap<Id<Boat>, Kept<Boat>> = self.boats()?.into_iter().map(|b| (b.id, b)).collect();
        let mut sailors = self.sailors()?;
        let place = |s: &Kept<Sailor>| crewed.iter().position(|c| c.fact.sailor == s.id).unwrap_or(usize::MAX);
        sailors.sort_by_key(|s| (place(s), s.fact.label.to_lowercase()));
        let (mut crews, mut warnings) = (Vec::new(), Vec::new());
        for sailor in sailors.iter().filter(|s| crewed.is_empty() || place(s) < usize::MAX) {
            let mut left_out = |what: &str| warnings.push(Warning::new(sailor.fact.label.clone(), format!("left out: {what}")));
            let today = crewed.iter().find(|c| c.fact.sailor == sailor.id).map(|c| c.fact.boat);
            let Some(boat) = today.or(sailor.fact.boat).and_then(|id| boats.get(&id)) else {
                left_out("no boat was said for this sailor");
                continue;
            };
            let Some(mass) = sailor.fact.mass_kg else {
                left_out("no mass was said, and every setting depends on it");
                continue;
            };
            if let Some(other) = crews.iter().find(|c: &&Crew| c.boat.label == boat.fact.label) {
                left_out(&format!("{} is in {} too; give one of them another boat", other.sailor.label, boat.fact.label));
                continue;
            }
            let known = self.boat_as_known(boat.id, [Moment::of_millis(0), until])?;
            let boat = SquadBoat { label: boat.fact.label.clone(), class: boat.fact.class.clone(), ..known };
            crews.push(Crew { sailor: of_squad(&sailor.fact, mass), boat });
        }
        Ok(Warned::new(Squad { crews }, warnings))
    }

    fn boat_as_known(&self, boat: Id<Boat>, [since, until]: [Moment; 2]) -> Result<SquadBoat, SquadError> {
        let weighed = self.weigh_ins_of(boat)?.into_iter().rev().find(|w| w.fact.at <= until);
        Ok(SquadBoat {
            label: String::new(),
            class: None,
            hull_mass: weighed.as_ref().map(|w| w.fact.dry()),
            water_found: weighed.as_ref().map(|w| w.fact.water_kg).filter(|w| *w > 0.0).map(Mass::kilograms),
            boom_end: self.boom_end_of(boat, until)?,
            base: self.base_setup_of(boat, until)?,
            rigged: self.rigged(boat, since, until)?.into_iter().map(|(gauge, r)| (gauge, r.fact.setting)).collect(),
        })
    }
}

/// The sailor as a squad file has it.
fn of_squad(sailor: &Sailor, mass: HiddenMass) -> SquadSailor {
    let mass = mass.in_kilograms();
    let stature = sailor.stature_m.unwrap_or_else(|| stature_of(Mass::kilograms(mass)));
    SquadSailor {
        label: sailor.label.clone(),
        body: Body { mass, stature, skill: sailor.skill },
        hand: sailor.hand_m.map_or_else(|| usual_hand(stature), Length::metres),
        sail: sailor.sail.clone(),
    }
}

/// A number as the store keeps it.
fn fifteen(x: f64) -> f64 {
    super::row::fifteen_digits(x)
}
