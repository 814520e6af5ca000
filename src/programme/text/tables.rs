//! Files and how they are read: columns, units and codes as they are written, each checked against our own lists.

use super::twins::{Written, WrittenLastInspection, WrittenTable};
use super::{Completing, suggestion};
use crate::Error;
use crate::pole::Vocabulary;
use crate::programme::Sources;
use crate::programme::sources::{Codes, FIELDS, Field, SourceKind, TableSource, VOCABULARIES};
use crate::units::LengthUnit;
use std::collections::BTreeMap;
use toml::Value;

/// Vocabularies with their codes as they are written.
type WrittenCodes = BTreeMap<String, BTreeMap<String, String>>;

/// The highest row number of a workbook, and more lines than any list has.
const LAST_ROW: i64 = 1_048_576;

/// What a table is of, and where its keys stand.
struct Kind {
    /// The key of the table, with its number: `poles.0`, `poles.0.last_inspection`.
    at: String,
    of: SourceKind,
}

impl Completing<'_> {
    pub(super) fn sources(&self, written: &Written) -> Result<Sources, Error> {
        let all = |tables: &[WrittenTable], of: SourceKind| {
            let one = |(number, table): (usize, &WrittenTable)| {
                let at = format!("{}.{number}", of.key());
                self.table(table, &Kind { at, of })
            };
            tables
                .iter()
                .enumerate()
                .map(one)
                .collect::<Result<Vec<_>, _>>()
        };
        Ok(Sources {
            poles: all(&written.poles, SourceKind::Poles)?,
            inspections: all(&written.inspections, SourceKind::Inspections)?,
            work_done: all(&written.work_done, SourceKind::WorkDone)?,
            failures: all(&written.failures, SourceKind::Failures)?,
            decisions: all(&written.decisions, SourceKind::Decisions)?,
            previous: written.previous.folder.clone(),
        })
    }

    fn table(&self, written: &WrittenTable, kind: &Kind) -> Result<TableSource, Error> {
        let at = &kind.at;
        let Some(file) = written.file.clone().filter(|file| !file.trim().is_empty()) else {
            return Err(self.place.fault(
                at,
                "file is missing",
                "name the file, relative to the programme's folder: file = \"poles.csv\"",
            ));
        };
        if kind.of == SourceKind::Poles && written.contractor.is_some() {
            return Err(self.place.fault(
                &format!("{at}.contractor"),
                "a pole list has no contractor",
                "contractor is a key of [[inspections]] and of [poles.last_inspection]",
            ));
        }
        let last_inspection = match &written.last_inspection {
            Some(_) if kind.of != SourceKind::Poles => {
                return Err(self.place.fault(
                    &format!("{at}.last_inspection"),
                    "inspection records have no last inspection of their own",
                    "[poles.last_inspection] stands below a [[poles]] whose rows hold one inspection each",
                ));
            }
            Some(last) => Some(Box::new(self.last_inspection(last, &file, at)?)),
            None => None,
        };
        let header_row = written.header_row.map(|row| {
            let key = format!("{at}.header_row");
            self.whole(&key, Some(row), row, 1..=LAST_ROW)
        });
        Ok(TableSource {
            file,
            columns: self.columns(&written.columns, kind)?,
            units: self.units(&written.units, kind)?,
            codes: self.codes(&written.codes, kind)?,
            date_form: self.date_form(written.date_form.as_deref(), kind)?,
            default_method: self.word(
                &format!("{at}.default_method"),
                written.default_method.as_deref(),
            )?,
            contractor: written.contractor.clone(),
            sheet: written.sheet.clone(),
            header_row: header_row.transpose()?.map(|row| row as u32),
            join: written.join.clone(),
            epsg: self.epsg(written.epsg, kind)?,
            last_inspection,
        })
    }

    /// How the last inspection on the rows of the pole list at `above` is read.
    fn last_inspection(
        &self,
        written: &WrittenLastInspection,
        file: &str,
        above: &str,
    ) -> Result<TableSource, Error> {
        let kind = Kind {
            at: format!("{above}.last_inspection"),
            of: SourceKind::LastInspections,
        };
        if written.columns.contains_key("id") {
            return Err(self.place.fault(
                &format!("{}.columns.id", kind.at),
                "the last inspection of a row is that of the row's own pole",
                "take id out",
            ));
        }
        Ok(TableSource {
            file: file.to_owned(),
            columns: self.columns(&written.columns, &kind)?,
            units: self.units(&written.units, &kind)?,
            codes: self.codes(&written.codes, &kind)?,
            date_form: self.date_form(written.date_form.as_deref(), &kind)?,
            default_method: self.word(
                &format!("{}.default_method", kind.at),
                written.default_method.as_deref(),
            )?,
            contractor: written.contractor.clone(),
            ..TableSource::default()
        })
    }

    fn date_form(&self, written: Option<&str>, kind: &Kind) -> Result<Option<String>, Error> {
        let Some(form) = written else { return Ok(None) };
        let day = jiff::civil::date(2001, 2, 3);
        if !form.contains('%') || jiff::fmt::strtime::format(form, day).is_err() {
            return Err(self.place.fault(
                &format!("{}.date_form", kind.at),
                &format!("\"{form}\" is not a form of dates"),
                "letters as strftime uses them: \"%d/%m/%Y\" for 30/06/1985, \"%m/%d/%Y\" for 06/30/1985",
            ));
        }
        Ok(Some(form.to_owned()))
    }

    /// The code of a projection; whether there is such a one is asked when coordinates are read.
    fn epsg(&self, given: Option<i64>, kind: &Kind) -> Result<Option<u32>, Error> {
        let Some(number) = given else { return Ok(None) };
        let key = &format!("{}.epsg", kind.at);
        match u32::try_from(number) {
            Ok(code) if kind.of == SourceKind::Poles => Ok(Some(code)),
            Ok(_) => Err(self.place.fault(
                key,
                "only pole lists have coordinates",
                "put epsg below the [[poles]] whose columns hold them",
            )),
            Err(_) => Err(self.place.fault(
                key,
                &format!("{number} is not an EPSG code"),
                "a whole number such as 26917 (NAD83, UTM zone 17 north)",
            )),
        }
    }

    /// The field called `name`, which must be one of this kind of table and, for units, a length.
    fn field(&self, at: &str, name: &str, kind: &Kind, lengths: bool) -> Result<Field, Error> {
        let fits = |info: &&crate::programme::sources::FieldInfo| {
            kind.of.has(info) && (info.unit.is_some() || !lengths)
        };
        let known = FIELDS.iter().filter(fits);
        // A decision is about a pole, a line or a package: who writes `pole` there means its id.
        let wanted = match (kind.of, name) {
            (SourceKind::Decisions, "pole") => "id",
            _ => name,
        };
        known
            .clone()
            .find(|info| info.name == wanted)
            .map(|info| info.field)
            .ok_or_else(|| {
                self.place.fault(
                    &format!("{at}.{name}"),
                    &format!("\"{name}\" is not a field of {}", kind.of.rows()),
                    &suggestion(name, known.map(|info| info.name), "fields"),
                )
            })
    }

    fn columns(
        &self,
        written: &BTreeMap<String, Value>,
        kind: &Kind,
    ) -> Result<BTreeMap<Field, Vec<String>>, Error> {
        let at = format!("{}.columns", kind.at);
        written
            .iter()
            .map(|(name, value)| {
                let field = self.field(&at, name, kind, false)?;
                let columns = self.column_names(value, &format!("{at}.{name}"))?;
                let most = field.most_columns();
                if columns.len() > most {
                    let told = match most {
                        1 => "this field takes one column".to_owned(),
                        _ => format!("this field takes at most {most} columns"),
                    };
                    return Err(self.place.fault(
                        &format!("{at}.{name}"),
                        &told,
                        "texts, dates and codes can be joined from several columns, and sound_shell and the fields of pockets take one for each reading",
                    ));
                }
                Ok((field, columns))
            })
            .collect()
    }

    /// The columns that fill a field: a text, or a list of texts.
    fn column_names(&self, value: &Value, key: &str) -> Result<Vec<String>, Error> {
        let names: Option<Vec<String>> = match value {
            Value::String(name) => Some(vec![name.clone()]),
            Value::Array(list) => list
                .iter()
                .map(|name| name.as_str().map(str::to_owned))
                .collect(),
            _ => None,
        };
        names.filter(|names| !names.is_empty()).ok_or_else(|| {
            self.place.fault(
                key,
                "neither a column nor a list of columns",
                "write \"TAG\", or [\"LINE\", \"NUMBER\"] where several columns make up the field",
            )
        })
    }

    fn units(
        &self,
        written: &BTreeMap<String, String>,
        kind: &Kind,
    ) -> Result<BTreeMap<Field, LengthUnit>, Error> {
        let at = format!("{}.units", kind.at);
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
        written.iter().map(one).collect()
    }

    fn codes(&self, written: &WrittenCodes, kind: &Kind) -> Result<Codes, Error> {
        let at = format!("{}.codes", kind.at);
        for name in written.keys() {
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
            above_ground_defect: self.code_list(written, &at, "above_ground_defect")?,
            work: self.code_list(written, &at, "work")?,
            assisted: self.code_list(written, &at, "assisted")?,
            agent: self.code_list(written, &at, "agent")?,
            agent_place: self.code_list(written, &at, "agent_place")?,
            reinforced_type: self.code_list(written, &at, "reinforced_type")?,
            decision: self.code_list(written, &at, "decision")?,
            action: self.code_list(written, &at, "action")?,
            removed_cause: self.code_list(written, &at, "removed_cause")?,
        })
    }

    /// One vocabulary's codes, in small letters.
    fn code_list<V: Vocabulary + PartialEq>(
        &self,
        written: &WrittenCodes,
        at: &str,
        name: &str,
    ) -> Result<BTreeMap<String, V>, Error> {
        let mut list = BTreeMap::new();
        for (code, word) in written.get(name).into_iter().flatten() {
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
