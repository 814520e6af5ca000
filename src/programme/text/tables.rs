//! Files and how they are read: columns, units and codes as they are written, each checked against our own lists.

use super::twins::{Written, WrittenTable};
use super::{Completing, suggestion};
use crate::Error;
use crate::pole::Vocabulary;
use crate::programme::Sources;
use crate::programme::sources::{Codes, FIELDS, Field, TableSource, VOCABULARIES};
use crate::units::LengthUnit;
use std::collections::BTreeMap;

/// What a table is of.
#[derive(Clone, Copy)]
struct Kind {
    key: &'static str,
    of_poles: bool,
}

impl Completing<'_> {
    pub(super) fn sources(&self, written: &Written) -> Result<Sources, Error> {
        let all = |tables: &[WrittenTable], kind: Kind| {
            tables
                .iter()
                .enumerate()
                .map(|(number, table)| self.table(table, kind, number))
                .collect::<Result<Vec<_>, _>>()
        };
        let poles = Kind {
            key: "poles",
            of_poles: true,
        };
        let inspections = Kind {
            key: "inspections",
            of_poles: false,
        };
        Ok(Sources {
            poles: all(&written.poles, poles)?,
            inspections: all(&written.inspections, inspections)?,
        })
    }

    fn table(
        &self,
        written: &WrittenTable,
        kind: Kind,
        number: usize,
    ) -> Result<TableSource, Error> {
        let key = |name: &str| format!("{}.{number}.{name}", kind.key);
        let Some(file) = written.file.clone().filter(|file| !file.trim().is_empty()) else {
            return Err(self.place.fault(
                &format!("{}.{number}", kind.key),
                "file is missing",
                "name the file, relative to the programme's folder: file = \"poles.csv\"",
            ));
        };
        if let Some(form) = &written.date_form {
            let day = jiff::civil::date(2001, 2, 3);
            if !form.contains('%') || jiff::fmt::strtime::format(form, day).is_err() {
                return Err(self.place.fault(
                    &key("date_form"),
                    &format!("\"{form}\" is not a form of dates"),
                    "letters as strftime uses them: \"%d/%m/%Y\" for 30/06/1985, \"%m/%d/%Y\" for 06/30/1985",
                ));
            }
        }
        Ok(TableSource {
            file,
            columns: self.columns(written, kind, number)?,
            units: self.units(written, kind, number)?,
            codes: self.codes(written, kind, number)?,
            date_form: written.date_form.clone(),
            default_method: self.word(&key("default_method"), written.default_method.as_deref())?,
        })
    }

    /// The field called `name`, which must be one of this kind of table and, for units, a length.
    fn field(&self, at: &str, name: &str, kind: Kind, lengths: bool) -> Result<Field, Error> {
        let fits = |info: &&crate::programme::sources::FieldInfo| {
            (if kind.of_poles {
                info.of_poles
            } else {
                info.of_inspections
            }) && (info.unit.is_some() || !lengths)
        };
        let known = FIELDS.iter().filter(fits);
        known
            .clone()
            .find(|info| info.name == name)
            .map(|info| info.field)
            .ok_or_else(|| {
                self.place.fault(
                    &format!("{at}.{name}"),
                    &format!("\"{name}\" is not a field of {}", kind.key),
                    &suggestion(name, known.map(|info| info.name), "fields"),
                )
            })
    }

    fn columns(
        &self,
        written: &WrittenTable,
        kind: Kind,
        number: usize,
    ) -> Result<BTreeMap<Field, String>, Error> {
        let at = format!("{}.{number}.columns", kind.key);
        written
            .columns
            .iter()
            .map(|(name, column)| Ok((self.field(&at, name, kind, false)?, column.clone())))
            .collect()
    }

    fn units(
        &self,
        written: &WrittenTable,
        kind: Kind,
        number: usize,
    ) -> Result<BTreeMap<Field, LengthUnit>, Error> {
        let at = format!("{}.{number}.units", kind.key);
        let one = |(name, word): (&String, &String)| {
            let field = self.field(&at, name, kind, true)?;
            let unit = LengthUnit::from_word(word.trim()).ok_or_else(|| {
                self.place.fault(
                    &format!("{at}.{name}"),
                    &format!("\"{word}\" is not a unit of length"),
                    "mm, cm, m, in or ft",
                )
            })?;
            Ok((field, unit))
        };
        written.units.iter().map(one).collect()
    }

    fn codes(&self, written: &WrittenTable, kind: Kind, number: usize) -> Result<Codes, Error> {
        let at = format!("{}.{number}.codes", kind.key);
        for name in written.codes.keys() {
            if !VOCABULARIES.contains(&name.as_str()) {
                return Err(self.place.fault(
                    &format!("{at}.{name}"),
                    &format!("\"{name}\" is not a vocabulary"),
                    &suggestion(name, VOCABULARIES.into_iter(), "vocabularies"),
                ));
            }
        }
        Ok(Codes {
            species: self.code_list(written, &at, "species")?,
            preservative: self.code_list(written, &at, "preservative")?,
            material: self.code_list(written, &at, "material")?,
            status: self.code_list(written, &at, "status")?,
            consequence: self.code_list(written, &at, "consequence")?,
            method: self.code_list(written, &at, "method")?,
            verdict: self.code_list(written, &at, "verdict")?,
            decay_mode: self.code_list(written, &at, "decay_mode")?,
            agent: self.code_list(written, &at, "agent")?,
            agent_place: self.code_list(written, &at, "agent_place")?,
            reinforced_type: self.code_list(written, &at, "reinforced_type")?,
        })
    }

    /// One vocabulary's codes, in small letters.
    fn code_list<V: Vocabulary + PartialEq>(
        &self,
        written: &WrittenTable,
        at: &str,
        name: &str,
    ) -> Result<BTreeMap<String, V>, Error> {
        let mut list = BTreeMap::new();
        for (code, word) in written.codes.get(name).into_iter().flatten() {
            let key = format!("{at}.{name}.{code}");
            let Some(value) = self.word::<V>(&key, Some(word))? else {
                continue;
            };
            let earlier = list.insert(code.trim().to_lowercase(), value);
            if earlier.is_some_and(|earlier| earlier != value) {
                return Err(self.place.fault(
                    &key,
                    "the code stands here twice with different words",
                    "codes match without regard to case",
                ));
            }
        }
        Ok(list)
    }
}
