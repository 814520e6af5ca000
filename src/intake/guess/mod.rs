//! What a bare list probably is: which column fills which field, in which unit and form, and what its codes mean.
//!
//! From names and values together, by common practice of the trade; each guess says how sure it is and why. A guess is
//! never used silently: it becomes a programme that the owner reads, and only a programme is ever read by.

mod codes;
mod names;
mod values;

use super::Table;
use super::cells::{is_blank, is_error, read_back};
use super::dates::read_day;
use crate::programme::sources::{FIELDS, Field, FieldInfo};
use crate::units::{Date, LengthUnit};
use std::collections::BTreeMap;
use values::{Values, look, unit_by_size};

pub(super) use names::{WHOLE, likeness, phrases_of, unit_of, unnumbered, words};

/// Below this score a column is left unused rather than guessed at.
const LEAST_SCORE: f64 = 0.30;
/// From this score on a guess is called sure, and from the next one likely.
const SURE: f64 = 0.85;
const LIKELY: f64 = 0.55;
/// What values alone can earn, where no name helps: never more than a guess.
const BY_VALUES: f64 = 0.40;
/// Codes that only values speak for are believed from this share on.
const READ_SHARE: f64 = 0.8;

/// What a list is a list of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ListKind {
    /// Poles, one a row.
    Poles,
    /// Inspections, one a row.
    Inspections,
}

/// How sure a guess is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sureness {
    /// Something speaks for it.
    Guess,
    /// Name or values speak for it, nothing against it.
    Likely,
    /// Name and values agree.
    Sure,
}

impl Sureness {
    fn of(score: f64) -> Self {
        match score {
            score if score >= SURE => Self::Sure,
            score if score >= LIKELY => Self::Likely,
            _ => Self::Guess,
        }
    }

    /// In a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Guess => "a guess",
            Self::Likely => "likely",
            Self::Sure => "sure",
        }
    }
}

/// A column that fills a field.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnGuess {
    /// Our field.
    pub field: Field,
    /// Their columns, as they stand: one, or several readings.
    pub columns: Vec<String>,
    /// How sure this is.
    pub sureness: Sureness,
    /// Why, in a few words.
    pub why: String,
    /// Unit of a length; ours where nothing speaks for another.
    pub unit: Option<LengthUnit>,
}

/// A code of theirs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeGuess {
    /// The field.
    pub field: Field,
    /// The code, as it stands.
    pub raw: String,
    /// Rows that have it.
    pub rows: usize,
    /// The word of ours that it probably is.
    pub word: Option<&'static str>,
    /// All words of ours that it could be.
    pub words: Vec<&'static str>,
}

/// In which form days are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayForm {
    /// In a form that needs no declaration.
    Plain,
    /// In this form (strftime letters).
    Declared(&'static str),
    /// In one of two forms, and no row tells which.
    Open(&'static str, &'static str),
}

/// How the rows of a list are probably read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Columns that fill a field, in the order of our fields.
    pub columns: Vec<ColumnGuess>,
    /// Form of its days.
    pub day_form: DayForm,
    /// Codes, by field, most frequent first.
    pub codes: Vec<CodeGuess>,
}

impl Reading {
    /// Whether a column fills the field.
    pub fn has(&self, field: Field) -> bool {
        self.columns.iter().any(|own| own.field == field)
    }
}

/// What a list probably is.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// The file, as the table names it.
    pub file: String,
    /// The line of the header, where it stands below a title.
    pub header_row: Option<u32>,
    /// Rows of data.
    pub rows: usize,
    /// What it lists.
    pub kind: ListKind,
    /// How its rows are read.
    pub reading: Reading,
    /// How the last inspection on each row of a pole list is read, where there is one.
    pub last_inspection: Option<Reading>,
    /// Columns that fill no field.
    pub unused: Vec<String>,
    /// Owners with their rows, most frequent first.
    pub owners: Vec<(String, usize)>,
}

/// Guesses what a table is; `plan_from` is the day after which nothing can have happened.
pub fn guess(table: &Table, plan_from: Date) -> Guess {
    let values: Vec<Values> = (0..table.columns.len())
        .map(|place| look(cells(table, place), plan_from))
        .collect();
    let of_poles = assign(table, &values, ListKind::Poles);
    let of_inspections = assign(table, &values, ListKind::Inspections);
    let kind = kind_of(&of_poles, &of_inspections, &values);
    let (chosen, last) = match kind {
        ListKind::Inspections => (of_inspections, None),
        ListKind::Poles => {
            let last = last_inspection(&of_poles, of_inspections);
            (of_poles, last)
        }
    };
    let used = |place: usize| {
        let all = chosen.iter().chain(last.iter().flatten());
        all.into_iter().any(|given| given.places.contains(&place))
    };
    let names = table.columns.iter().enumerate();
    let unused = names
        .filter(|(place, _)| !used(*place))
        .map(|(_, name)| name.trim().to_owned());
    let owners = chosen.iter().find(|given| given.field == Field::Owner);
    Guess {
        file: table.file.clone(),
        header_row: table.header_row,
        rows: table.rows.len(),
        kind,
        unused: unused.collect(),
        owners: owners.map_or_else(Vec::new, |given| counted(table, given.places[0])),
        reading: reading(table, &chosen, &values, plan_from),
        last_inspection: last.map(|last| reading(table, &last, &values, plan_from)),
    }
}

fn reading(table: &Table, chosen: &[Given], values: &[Values], plan_from: Date) -> Reading {
    let days = chosen.iter().filter(|given| is_a_day(given.field));
    let days = days.flat_map(|given| cells(table, given.places[0]));
    Reading {
        columns: chosen
            .iter()
            .map(|given| described(table, given, values))
            .collect(),
        day_form: form_of(days, plan_from),
        codes: chosen
            .iter()
            .flat_map(|given| codes_of(table, given))
            .collect(),
    }
}

/// The last inspection on the rows of a pole list: a day and a verdict in columns that say nothing of the pole. Notes of
/// the pole are no remarks of a visit.
fn last_inspection(of_poles: &[Given], of_inspections: Vec<Given>) -> Option<Vec<Given>> {
    let free = |given: &Given| {
        let taken = of_poles
            .iter()
            .any(|own| own.places.contains(&given.places[0]));
        !taken && !matches!(given.field, Field::Id | Field::Remarks)
    };
    let last: Vec<Given> = of_inspections.into_iter().filter(free).collect();
    let has = |field| last.iter().any(|given| given.field == field);
    (has(Field::Date) && has(Field::Verdict)).then_some(last)
}

/// A column given to a field.
struct Given {
    field: Field,
    /// Its column; of readings all that are called alike but for a number.
    places: Vec<usize>,
    by_name: f64,
    suits: f64,
    score: f64,
}

fn cells(table: &Table, place: usize) -> impl Iterator<Item = &str> + Clone {
    table
        .rows
        .iter()
        .map(move |(_, row)| row.get(place).unwrap_or(""))
}

fn is_a_day(field: Field) -> bool {
    matches!(
        field,
        Field::SetDate | Field::Date | Field::RemovedDate | Field::ReinforcedDate
    )
}

/// The best column for each field, each column used once: pairs by score, then by the order of fields and columns.
fn assign(table: &Table, values: &[Values], kind: ListKind) -> Vec<Given> {
    let fits = |info: &&FieldInfo| match kind {
        ListKind::Poles => info.of_poles,
        ListKind::Inspections => info.of_inspections,
    };
    let mut pairs = Vec::new();
    for info in FIELDS.iter().filter(fits) {
        for (place, name) in table.columns.iter().enumerate() {
            let all = names::words(name);
            let (_, words) = names::unit_of(&all);
            let own_name = info.name.replace('_', " ");
            let phrases = || names::phrases_of(info.name).chain([own_name.as_str()]);
            let unnumbered = names::unnumbered(words);
            let by_name = [words, &all, &unnumbered]
                .into_iter()
                .map(|words| names::likeness(words, phrases()))
                .fold(0.0, f64::max);
            let suits = values[place].suit(info.field, kind);
            let score = (by_name * suits).max(if by_name > 0.0 {
                0.0
            } else {
                speaks(info.field, &values[place])
            });
            if score >= LEAST_SCORE {
                pairs.push(Given {
                    field: info.field,
                    places: vec![place],
                    by_name,
                    suits,
                    score,
                });
            }
        }
    }
    pairs.sort_by(|a, b| {
        b.score.total_cmp(&a.score).then_with(|| {
            let name = |given: &Given| &table.columns[given.places[0]];
            (a.field, name(a)).cmp(&(b.field, name(b)))
        })
    });
    let mut chosen: Vec<Given> = Vec::new();
    for pair in pairs {
        let place = pair.places[0];
        if chosen.iter().any(|given| given.places.contains(&place)) {
            continue;
        }
        match chosen.iter_mut().find(|given| given.field == pair.field) {
            None => chosen.push(pair),
            Some(first) if are_readings(table, first, place) => first.places.push(place),
            Some(_) => {}
        }
    }
    // A list whose poles have ids says something else with a number of things.
    if chosen.iter().any(|given| given.field == Field::Id) {
        chosen.retain(|given| given.field != Field::Count);
    }
    for given in &mut chosen {
        given.places.sort_by_key(|place| &table.columns[*place]);
    }
    chosen.sort_by_key(|given| given.field);
    chosen
}

/// Whether a column is one more reading beside the one that was given to its field: called alike but for a number.
fn are_readings(table: &Table, first: &Given, place: usize) -> bool {
    let base = |place: usize| names::unnumbered(&names::words(&table.columns[place]));
    let several = first.field == Field::SoundShell || first.field.is_of_pockets();
    several
        && first.places.len() < first.field.most_columns()
        && base(first.places[0]) == base(place)
}

/// What values say for a field without any name: only codes that are plainly the trade's.
fn speaks(field: Field, values: &Values) -> f64 {
    let coded = matches!(
        field,
        Field::Species | Field::Preservative | Field::Verdict | Field::Material
    );
    if !coded || values.codes.len() < 2 || values.read_as(field) < READ_SHARE {
        return 0.0;
    }
    BY_VALUES
}

/// Inspections are days with a verdict, a method or a reading, and poles come several times or have no facts.
fn kind_of(poles: &[Given], inspections: &[Given], values: &[Values]) -> ListKind {
    let has = |list: &[Given], field| list.iter().any(|given| given.field == field);
    let looked = [
        Field::Verdict,
        Field::Method,
        Field::SoundShell,
        Field::RemainingCircumference,
    ]
    .into_iter()
    .any(|field| has(inspections, field));
    let facts = [
        Field::SetDate,
        Field::Length,
        Field::Class,
        Field::Species,
        Field::Preservative,
        Field::Longitude,
    ]
    .into_iter()
    .filter(|field| has(poles, *field))
    .count();
    let id = inspections.iter().find(|given| given.field == Field::Id);
    let repeats = id.is_some_and(|given| values[given.places[0]].distinct < 0.95);
    if has(inspections, Field::Date) && looked && (facts == 0 || (repeats && facts < 3)) {
        ListKind::Inspections
    } else {
        ListKind::Poles
    }
}

fn described(table: &Table, given: &Given, values: &[Values]) -> ColumnGuess {
    let columns: Vec<String> = given
        .places
        .iter()
        .map(|place| table.columns[*place].trim().to_owned())
        .collect();
    let own = &values[given.places[0]];
    let named_unit = names::unit_of(&names::words(&columns[0])).0;
    let unit = given.field.info().unit.and_then(|_| {
        named_unit
            .or(own.written_unit)
            .or_else(|| unit_by_size(given.field, own))
    });
    let mut why = vec![match given.by_name {
        name if name >= names::WHOLE => "the name".to_owned(),
        name if name > 0.0 => "part of the name".to_owned(),
        _ => "only the values".to_owned(),
    }];
    if given.suits >= 0.9 {
        why.push("the values fit".to_owned());
    } else if given.by_name > 0.0 {
        why.push(format!("{:.0} % of the values fit", 100.0 * given.suits));
    }
    if let Some(unit) = unit {
        let from = match (named_unit, own.written_unit) {
            (Some(_), _) => "as the name says",
            (None, Some(_)) => "as the cells say",
            (None, None) => "by the sizes",
        };
        why.push(format!("{} {from}", unit.word()));
    }
    ColumnGuess {
        field: given.field,
        columns,
        sureness: Sureness::of(given.score),
        why: why.join(", "),
        unit,
    }
}

/// The codes of a coded column with their counts, most frequent first.
fn codes_of(table: &Table, given: &Given) -> Vec<CodeGuess> {
    let words = codes::words_of(given.field);
    if words.is_empty() {
        return Vec::new();
    }
    counted(table, given.places[0])
        .into_iter()
        .map(|(raw, rows)| CodeGuess {
            field: given.field,
            word: codes::own_word(&words, &raw).or_else(|| codes::reading(given.field, &raw)),
            raw,
            rows,
            words: words.clone(),
        })
        .collect()
}

/// The different texts of a column with their rows, most frequent first; upper and lower case are the same.
fn counted(table: &Table, place: usize) -> Vec<(String, usize)> {
    let mut counts: BTreeMap<String, (usize, &str)> = BTreeMap::new();
    for cell in cells(table, place) {
        let raw = read_back(cell.trim()).trim();
        if !raw.is_empty() && !is_blank(raw) && !is_error(raw) {
            let entry = counts.entry(raw.to_lowercase()).or_insert((0, raw));
            entry.0 += 1;
            entry.1 = entry.1.min(raw);
        }
    }
    let mut list: Vec<(String, usize)> = counts
        .into_values()
        .map(|(rows, raw)| (raw.to_owned(), rows))
        .collect();
    list.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    list
}

/// Forms that need a declaration, month first and day first, with four and with two digits of the year.
const FORMS: [(&str, &str); 2] = [("%m/%d/%Y", "%d/%m/%Y"), ("%m/%d/%y", "%d/%m/%y")];

/// The form that reads every day which the plain reading cannot.
fn form_of<'a>(cells: impl Iterator<Item = &'a str>, plan_from: Date) -> DayForm {
    // Days with the year first can be read whatever the others are.
    let open: Vec<&str> = cells
        .map(|cell| read_back(cell.trim()).trim())
        .filter(|text| {
            let first = text.split(['/', '-', '.']).next().unwrap_or("");
            text.contains(['/', '-', '.']) && first.len() < 4
        })
        .collect();
    let reads = |form: Option<&str>| {
        let read = |text: &&&str| read_day(text, form, plan_from).is_ok();
        open.iter().filter(read).count()
    };
    let (month_first, day_first) = FORMS
        .into_iter()
        .max_by_key(|(a, b)| reads(Some(a)).max(reads(Some(b))))
        .unwrap_or(FORMS[0]);
    let (plain, by_month, by_day) = (
        reads(None),
        reads(Some(month_first)),
        reads(Some(day_first)),
    );
    match by_month.cmp(&by_day) {
        _ if by_month.max(by_day) <= plain => DayForm::Plain,
        std::cmp::Ordering::Greater => DayForm::Declared(month_first),
        std::cmp::Ordering::Less => DayForm::Declared(day_first),
        std::cmp::Ordering::Equal => DayForm::Open(month_first, day_first),
    }
}

#[cfg(test)]
mod tests;
