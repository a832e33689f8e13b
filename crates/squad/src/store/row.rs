//! A fact as a row, and as the document that archives and histories hold: every kind in the same way, by its table's columns.

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, params_from_iter};
use serde_json::{Map, Number, Value as Json, json};

use crate::error::SquadError;
use crate::fact::{Fact, Holds, Kept, Table};
use crate::id::Moment;

/// The columns that every kind has.
pub(crate) const ROW: [&str; 6] = ["id", "version", "state", "edited_at", "edited_by", "withdrawn"];

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    pub(crate) table: Table,
    pub(crate) id: String,
    pub(crate) version: i64,
    pub(crate) state: String,
    pub(crate) edited_at: String,
    pub(crate) edited_by: String,
    pub(crate) withdrawn: bool,
    pub(crate) values: Vec<Value>,
}

fn names(table: &Table) -> impl Iterator<Item = &'static str> {
    ROW.into_iter().chain(table.columns.iter().map(|c| c.name))
}

/// How a kind's rows are asked for.
pub(crate) fn select(table: &Table) -> String {
    format!("SELECT {} FROM {}", names(table).collect::<Vec<_>>().join(", "), table.kind)
}

impl Row {
    /// Reads what [`select`] asked for.
    pub(crate) fn read(row: &rusqlite::Row<'_>, table: &Table) -> rusqlite::Result<Self> {
        let values = (0..table.columns.len()).map(|k| row.get(ROW.len() + k)).collect::<rusqlite::Result<_>>()?;
        Ok(Self {
            table: *table,
            id: row.get(0)?,
            version: row.get(1)?,
            state: row.get(2)?,
            edited_at: row.get(3)?,
            edited_by: row.get(4)?,
            withdrawn: row.get(5)?,
            values,
        })
    }

    /// The row of an id.
    pub(crate) fn find(connection: &Connection, table: &Table, id: &str) -> rusqlite::Result<Option<Self>> {
        connection.prepare_cached(&format!("{} WHERE id = $1", select(table)))?.query_row([id], |row| Self::read(row, table)).optional()
    }

    fn all_values(&self) -> impl Iterator<Item = Value> {
        let text = |text: &String| Value::Text(text.clone());
        [
            text(&self.id),
            Value::Integer(self.version),
            text(&self.state),
            text(&self.edited_at),
            text(&self.edited_by),
            Value::Integer(i64::from(self.withdrawn)),
        ]
        .into_iter()
        .chain(self.values.iter().cloned())
    }

    pub(crate) fn insert(&self, connection: &Connection, table: &Table) -> rusqlite::Result<()> {
        let columns: Vec<_> = names(table).collect();
        let places: Vec<_> = (1..=columns.len()).map(|k| format!("${k}")).collect();
        let sql = format!("INSERT INTO {} ({}) VALUES ({})", table.kind, columns.join(", "), places.join(", "));
        connection.prepare_cached(&sql)?.execute(params_from_iter(self.all_values()))?;
        Ok(())
    }

    pub(crate) fn update(&self, connection: &Connection, table: &Table) -> rusqlite::Result<()> {
        // SQLite numbers `$n` by where each is met first, so the id is set to itself.
        let sets: Vec<_> = names(table).enumerate().map(|(k, name)| format!("{name} = ${}", k + 1)).collect();
        let sql = format!("UPDATE {} SET {} WHERE id = $1", table.kind, sets.join(", "));
        connection.prepare_cached(&sql)?.execute(params_from_iter(self.all_values()))?;
        Ok(())
    }

    /// Puts it among what the fact was before.
    pub(crate) fn keep_as_former(&self, connection: &Connection, table: &Table) -> rusqlite::Result<()> {
        let sql = "INSERT INTO former (kind, fact, state, version, body) VALUES ($1, $2, $3, $4, $5) \
                   ON CONFLICT (kind, fact, state) DO NOTHING";
        let body = self.document().to_string();
        connection.prepare_cached(sql)?.execute(rusqlite::params![table.kind, self.id, self.state, self.version, body])?;
        Ok(())
    }

    /// The row of a typed fact.
    pub(crate) fn of<T: Fact>(kept: &Kept<T>, state: String) -> Result<Self, SquadError> {
        let unwritable = |what: String| SquadError::Refused { what };
        let Ok(Json::Object(fact)) = serde_json::to_value(&kept.fact) else {
            return Err(unwritable("a number in it is none".to_owned()));
        };
        let values = values(&T::TABLE, &fact).map_err(unwritable)?;
        Ok(Self {
            table: T::TABLE,
            id: kept.id.to_string(),
            version: i64::from(kept.version),
            state,
            edited_at: kept.edited_at.to_string(),
            edited_by: kept.edited_by.clone(),
            withdrawn: kept.withdrawn,
            values,
        })
    }

    /// The typed fact of a row.
    pub(crate) fn kept<T: Fact>(&self) -> Result<Kept<T>, SquadError> {
        let strange = |what: String| SquadError::Store { what: format!("a {} in the store cannot be read: {what}", self.table.kind) };
        let fact = serde_json::from_value(Json::Object(self.fact())).map_err(|e| strange(e.to_string()))?;
        Ok(Kept {
            id: self.id.parse().map_err(strange)?,
            version: u32::try_from(self.version).map_err(|e| strange(e.to_string()))?,
            edited_at: self.edited_at.parse().map_err(strange)?,
            edited_by: self.edited_by.clone(),
            withdrawn: self.withdrawn,
            fact,
        })
    }

    fn fact(&self) -> Map<String, Json> {
        let mut fact = Map::new();
        for (column, value) in self.table.columns.iter().zip(&self.values) {
            let json = match (value, column.holds) {
                (Value::Integer(n), Holds::Flag) => Json::Bool(*n != 0),
                (Value::Integer(n), _) => Json::Number((*n).into()),
                (Value::Real(x), _) => Number::from_f64(*x).map_or(Json::Null, Json::Number),
                (Value::Text(text), Holds::Json) => serde_json::from_str(text).unwrap_or(Json::Null),
                (Value::Text(text), _) => Json::String(text.clone()),
                (Value::Null | Value::Blob(_), _) => Json::Null,
            };
            fact.insert(column.name.to_owned(), json);
        }
        fact
    }

    /// The document of a row.
    pub(crate) fn document(&self) -> Json {
        json!({
            "id": self.id, "version": self.version, "state": self.state, "edited_at": self.edited_at,
            "edited_by": self.edited_by, "withdrawn": self.withdrawn, "fact": self.fact(),
        })
    }

    /// The row of a document; what cannot be right about it in words.
    pub(crate) fn of_document(table: &Table, document: &Json) -> Result<Self, String> {
        let text = |name: &str| {
            let text = document.get(name).and_then(Json::as_str).map(str::to_owned);
            text.ok_or_else(|| format!("{name} is missing"))
        };
        let digits = |name: &str, length: usize| {
            let found = text(name)?;
            let plain = found.len() == length && found.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
            if plain { Ok(found) } else { Err(format!("{name} has not {length} digits, 0 to 9 and a to f")) }
        };
        let edited_at: Moment = text("edited_at")?.parse()?;
        let version = document.get("version").and_then(Json::as_i64).filter(|v| (1..=i64::from(u32::MAX)).contains(v));
        let fact = document.get("fact").and_then(Json::as_object).ok_or("the fact is missing")?;
        Ok(Self {
            table: *table,
            id: digits("id", 32)?,
            version: version.ok_or("version is missing")?,
            state: digits("state", 16)?,
            edited_at: edited_at.to_string(),
            edited_by: text("edited_by")?,
            withdrawn: document.get("withdrawn").and_then(Json::as_bool).ok_or("withdrawn is missing")?,
            values: values(table, fact)?,
        })
    }

    /// What is the same in two states of a fact, whoever wrote it when.
    pub(crate) fn says_the_same(&self, other: &Self) -> bool {
        self.values == other.values && self.withdrawn == other.withdrawn
    }
}

/// The typed fact of a document.
pub(crate) fn body_kept<T: Fact>(body: &str) -> Option<Kept<T>> {
    Row::of_document(&T::TABLE, &serde_json::from_str(body).ok()?).ok()?.kept().ok()
}

/// A number to 15 digits: then its decimal text in an archive gives back the very same number.
pub(crate) fn fifteen_digits(x: f64) -> f64 {
    format!("{x:.14e}").parse().unwrap_or(x)
}

/// A document with its numbers to 15 digits.
fn rounded(document: &Json) -> Json {
    match document {
        Json::Number(number) => match number.as_f64() {
            Some(x) if number.is_f64() => Number::from_f64(fifteen_digits(x)).map_or(Json::Null, Json::Number),
            _ => document.clone(),
        },
        Json::Object(map) => Json::Object(map.iter().map(|(name, value)| (name.clone(), rounded(value))).collect()),
        Json::Array(list) => Json::Array(list.iter().map(rounded).collect()),
        _ => document.clone(),
    }
}

/// What stands in the columns for a fact's document.
fn values(table: &Table, fact: &Map<String, Json>) -> Result<Vec<Value>, String> {
    if let Some(unknown) = fact.keys().find(|name| table.columns.iter().all(|c| c.name != name.as_str())) {
        return Err(format!("{unknown} is not known of a {}", table.kind));
    }
    let value = |column: &crate::fact::Column| {
        let strange = || format!("{} of a {} is not what it should be", column.name, table.kind);
        Ok(match (fact.get(column.name).unwrap_or(&Json::Null), column.holds) {
            (Json::Null, _) => Value::Null,
            (Json::Bool(flag), Holds::Flag) => Value::Integer(i64::from(*flag)),
            (Json::Number(n), Holds::Whole) => Value::Integer(n.as_i64().ok_or_else(strange)?),
            (Json::Number(n), Holds::Real) => Value::Real(fifteen_digits(n.as_f64().ok_or_else(strange)?)),
            (Json::String(text), Holds::Text | Holds::Id(_)) => Value::Text(text.clone()),
            (document @ Json::Object(_), Holds::Json) => Value::Text(rounded(document).to_string()),
            _ => return Err(strange()),
        })
    };
    table.columns.iter().map(value).collect()
}
