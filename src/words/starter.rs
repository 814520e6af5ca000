//! A guess about bare lists, told on a page and written down as a programme to start from.
//!
//! The programme runs as it stands and says at every line what is guessed and how surely; what nobody could read is
//! mapped to the word that claims least. Reads no file and decides nothing: the guess is `intake`'s.

use super::quantities::counted;
use crate::intake::{CodeGuess, ColumnGuess, DayForm, Guess, ListKind, Reading, Sureness};
use crate::programme::sources::Field;
use crate::units::{Date, LengthUnit};
use std::fmt::Write;

/// What stands for a verdict or method that nobody could read: the word that claims least.
const CLAIMS_LEAST: [(Field, &str); 2] =
    [(Field::Verdict, "not_inspected"), (Field::Method, "patrol")];

/// What must be said where a verdict was not understood: it may be the one that matters most.
const UNREAD_VERDICTS: &str = "  WARNING: a verdict that nobody could read may be a reject or a danger. Say what it means before you rely on anything here.";

/// The guess as a page: what the list is, each column with how sure and why, codes that nobody could read.
pub fn page(guess: &Guess) -> String {
    let kind = match guess.kind {
        ListKind::Poles => "a list of poles",
        ListKind::Inspections => "a list of inspections",
    };
    let mut out = format!("{}: {kind}, {} rows\n\n", guess.file, guess.rows);
    reading_on_page(&mut out, &guess.reading);
    if let Some(last) = &guess.last_inspection {
        line(&mut out, "\n  with the last inspection on each row:\n");
        reading_on_page(&mut out, last);
    }
    if !guess.unused.is_empty() {
        line(
            &mut out,
            &format!("\n  not used: {}", guess.unused.join(", ")),
        );
    }
    out
}

fn reading_on_page(out: &mut String, reading: &Reading) {
    let named = |own: &ColumnGuess| own.columns.join(", ");
    let widths = reading.columns.iter().map(|own| named(own).chars().count());
    let width = widths.max().unwrap_or(0).max("their column".len());
    let head = format!(
        "  {:24}  {:width$}  {:8}  why",
        "our field", "their column", "how sure"
    );
    line(out, &head);
    for own in &reading.columns {
        let name = own.field.info().name;
        let text = format!(
            "  {name:24}  {:width$}  {:8}  {}",
            named(own),
            own.sureness.word(),
            own.why
        );
        line(out, &text);
    }
    let unread: Vec<String> = reading
        .codes
        .iter()
        .filter(|code| code.word.is_none())
        .map(|code| {
            format!(
                "{} \"{}\" ({})",
                code.field.info().name,
                code.raw,
                code.rows
            )
        })
        .collect();
    if !unread.is_empty() {
        line(
            out,
            &format!("  codes not understood: {}", unread.join(", ")),
        );
    }
    let of_verdict = |code: &CodeGuess| code.field == Field::Verdict && code.word.is_none();
    if reading.codes.iter().any(of_verdict) {
        line(out, UNREAD_VERDICTS);
    }
    if let DayForm::Open(one, other) = reading.day_form {
        let text =
            format!("  days are written {one} or {other}, and no row tells which: set date_form");
        line(out, &text);
    }
}

/// A programme that reads the lists as they were guessed, with comments for whoever goes through it.
pub fn programme(guesses: &[Guess], plan_from: Date) -> String {
    format!("{HEAD}\nplan_from = {plan_from}\n{DECISIONS}") + &lists(guesses)
}

/// The lists, as they were guessed, with what is said of whose poles they hold.
pub fn lists(guesses: &[Guess]) -> String {
    let mut out = String::new();
    let has_poles = guesses.iter().any(|guess| guess.kind == ListKind::Poles);
    if !has_poles {
        out += "\n# No list of poles was given: each pole that was inspected is taken as one. Put your pole list here.\n";
        for guess in guesses {
            out += &poles_of_inspections(guess);
        }
    }
    for guess in guesses {
        out += &scope(guess);
        out += &source(guess);
    }
    out += OWN_DECISIONS;
    out
}

/// What no list of poles or inspections holds.
const OWN_DECISIONS: &str = "
# What you decide about single poles, lines or packages goes into a list of its own: pin, leave_out, method, action, defer,
# freeze, clear. The README says what each needs. Take the marks away once there is such a list.
# [[decisions]]
# file = \"decisions.csv\"   # columns: id, line, package, decision, year, by, date, reason, interim_control, review_date
";

const HEAD: &str = "# A programme for polewright, guessed from bare lists. Go through every line: what stands here is a start, not a
# decision. A line marked \"a guess\" or \"NOT UNDERSTOOD\" needs you. The README explains every key.
#
# A plan sets priorities; it never clears a pole for climbing, loading or work.

title = \"First plan, from guessed lists\"

# The day from which the plan is made. Nothing later is read.";

const DECISIONS: &str = "schedule_years = 12
horizon_years = 30

# Decay zone, 1 (low) to 5 (severe), of poles whose list gives none. YOURS TO SET: 3 is only the middle.
decay_zone = 3

# Below what you reject: two thirds of the original strength, until you set your own.
[[reject]]
least_strength = 0.6667

# When poles are to be inspected: a guideline to replace by the rules that bind you.
[[rule]]
name = \"guideline, zones 2 and 3\"
first_age_years = 12
repeat_years = 10
least_method = \"sound_and_bore\"
kind = \"guideline\"
source = \"RUS Bulletin 1730B-121\"
";

fn line(out: &mut String, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{}", text.trim_end());
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// Whether rows of the list can be told to be poles: by an id, or by a count of poles that have none.
pub fn tells_poles_apart(guess: &Guess) -> bool {
    let counts = guess.kind == ListKind::Poles && guess.reading.has(Field::Count);
    guess.reading.has(Field::Id) || counts
}

fn poles_of_inspections(guess: &Guess) -> String {
    let mut out = String::new();
    let id = guess
        .reading
        .columns
        .iter()
        .find(|own| own.field == Field::Id);
    line(&mut out, "[[poles]]");
    line(&mut out, &format!("file = {}", quoted(&guess.file)));
    if let Some(row) = guess.header_row {
        line(
            &mut out,
            &format!("header_row = {row}   # a title stands above it"),
        );
    }
    if let Some(id) = id {
        line(
            &mut out,
            &format!("columns = {{ id = {} }}", quoted(&id.columns[0])),
        );
    }
    out
}

/// One list as a table of the programme; a list of inspections that says nothing of a verdict or a day is commented out,
/// since it could not be read.
fn source(guess: &Guess) -> String {
    let key = match guess.kind {
        ListKind::Poles => "poles",
        ListKind::Inspections => "inspections",
    };
    let reading = &guess.reading;
    let usable = tells_poles_apart(guess)
        && (guess.kind == ListKind::Poles
            || (reading.has(Field::Verdict) && reading.has(Field::Date)));
    let mut out = format!("\n[[{key}]]\n");
    line(&mut out, &format!("file = {}", quoted(&guess.file)));
    if let Some(row) = guess.header_row {
        line(
            &mut out,
            &format!("header_row = {row}   # a title stands above it"),
        );
    }
    out += &read_by(key, reading, guess.kind == ListKind::Inspections);
    if let Some(last) = &guess.last_inspection {
        out += "\n# The last inspection on each row. Of the earlier ones nothing is known.\n[poles.last_inspection]\n";
        out += &read_by("poles.last_inspection", last, true);
    }
    if !guess.unused.is_empty() {
        let names = guess.unused.join(", ").replace(['\n', '\r'], " ");
        line(&mut out, &format!("# not used: {names}"));
    }
    if usable {
        return out;
    }
    let mut commented = String::from(
        "\n# This list could not be read yet: a column for the id, and for inspections one for the day and one for the\n# verdict, must be named. Then take the marks away.\n",
    );
    for text in out.trim_start().lines() {
        line(&mut commented, &format!("# {text}"));
    }
    commented
}

/// The keys below a table of the programme: form of days, default method, columns, units, codes.
fn read_by(key: &str, reading: &Reading, of_inspections: bool) -> String {
    let mut out = String::new();
    match reading.day_form {
        DayForm::Plain => {}
        DayForm::Declared(form) => line(&mut out, &format!("date_form = {}", quoted(form))),
        DayForm::Open(one, other) => {
            let (one, other) = (quoted(one), quoted(other));
            let text = format!(
                "# date_form = {one} or {other}: no row tells which, until then such days are unknown"
            );
            line(&mut out, &text);
        }
    }
    if of_inspections && !reading.has(Field::Method) {
        let (method, why) = if reading.has(Field::SoundShell) {
            ("sound_and_bore", "a shell is measured by boring")
        } else {
            (
                "patrol",
                "nothing says how it was looked, so as little as possible is claimed",
            )
        };
        line(
            &mut out,
            &format!("default_method = {}   # a guess: {why}", quoted(method)),
        );
    }
    if reading.has(Field::X) {
        let text = "# epsg = ...   # the projection of x and y, where they are not degrees: `check` names likely codes";
        line(&mut out, text);
    }
    line(&mut out, &format!("\n[{key}.columns]"));
    for own in &reading.columns {
        line(&mut out, &column(own));
    }
    let units: Vec<(Field, LengthUnit)> = reading
        .columns
        .iter()
        .filter_map(|own| Some((own.field, own.unit?)))
        .collect();
    if !units.is_empty() {
        line(&mut out, &format!("\n[{key}.units]"));
    }
    for (field, unit) in units {
        line(
            &mut out,
            &format!("{} = {}", field.info().name, quoted(unit.word())),
        );
    }
    let mut fields: Vec<Field> = reading.codes.iter().map(|code| code.field).collect();
    fields.dedup();
    for field in fields {
        out += &codes(
            key,
            field,
            reading.codes.iter().filter(|code| code.field == field),
        );
    }
    out
}

/// At most this many owners are named.
const OWNERS_NAMED: usize = 10;

/// Whose poles there are: commented out, since only the owner knows whose are planned.
fn scope(guess: &Guess) -> String {
    if guess.owners.len() < 2 {
        return String::new();
    }
    let named = guess.owners.iter().take(OWNERS_NAMED);
    let names: Vec<String> = named.clone().map(|(name, _)| quoted(name)).collect();
    let rows: Vec<String> = named.map(|(_, rows)| rows.to_string()).collect();
    format!(
        "\n# Several owners stand in the list. Keep those whose poles you plan for, and take the marks away.\n# [scope]\n# owners = [{}]   # rows: {}\n",
        names.join(", "),
        rows.join(", ")
    )
}

fn column(own: &ColumnGuess) -> String {
    let columns: Vec<String> = own.columns.iter().map(|column| quoted(column)).collect();
    let columns = match columns.as_slice() {
        [one] => one.clone(),
        several => format!("[{}]", several.join(", ")),
    };
    let text = format!("{} = {columns}", own.field.info().name);
    match own.sureness {
        Sureness::Sure => text,
        _ => format!("{text}   # {}: {}", own.sureness.word(), own.why),
    }
}

/// The codes of one field. What is already a word of ours needs no line.
fn codes<'a>(key: &str, field: Field, list: impl Iterator<Item = &'a CodeGuess>) -> String {
    let name = field.info().name;
    let mut lines = String::new();
    let mut words = Vec::new();
    for code in list {
        words.clone_from(&code.words);
        let small = code.raw.to_lowercase().replace([' ', '-'], "_");
        if code.word == Some(small.as_str()) {
            continue;
        }
        let raw = quoted(&code.raw);
        let rows = counted(code.rows, "row", "rows");
        let least = CLAIMS_LEAST.iter().find(|(of, _)| *of == field);
        match (code.word, least) {
            (Some(word), _) => line(&mut lines, &format!("{raw} = {}   # {rows}", quoted(word))),
            (None, Some((_, word))) => line(
                &mut lines,
                &format!(
                    "{raw} = {}   # {rows}; NOT UNDERSTOOD: this claims least until you say what it means",
                    quoted(word)
                ),
            ),
            (None, None) => line(
                &mut lines,
                &format!("# {raw} = \"...\"   # {rows}; NOT UNDERSTOOD, unknown until you say"),
            ),
        }
    }
    if lines.is_empty() {
        return lines;
    }
    format!(
        "\n[{key}.codes.{name}]   # one of {}\n{lines}",
        words.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::{page, programme};
    use crate::intake::{Table, guess, take_in};
    use crate::programme::text;
    use jiff::civil::date;
    use std::path::Path;
    use std::slice::from_ref;

    fn table(file: &str, text: &str) -> Table {
        let mut lines = text
            .lines()
            .map(|line| line.split(',').map(|cell| cell.trim().to_owned()).collect());
        Table {
            file: file.to_owned(),
            columns: lines.next().expect("a header"),
            rows: lines
                .enumerate()
                .map(|(place, cells)| (place as u32 + 2, cells))
                .collect(),
            ..Table::default()
        }
    }

    const POLES: &str =
        "Pole No,Height,Timber,Year Set,\"odd\"\nA1,40,SP,1985,x\nA2,45,DF,1990,\nA3,40,Q9,1999,";
    const VISITS: &str =
        "Pole No,Inspected,Result\nA1,2019-05-01,OK\nA2,2019-05-02,R7\nA2,2021-05-02,Reject";

    #[test]
    fn the_programme_runs_and_claims_nothing_that_nobody_could_read() {
        let tables = [table("poles.csv", POLES), table("visits.csv", VISITS)];
        let day = date(2026, 1, 1);
        let guesses: Vec<_> = tables.iter().map(|table| guess(table, day)).collect();
        let text = programme(&guesses, day);
        assert!(
            text.contains("R7 = \"not_inspected\"") || text.contains("\"R7\" = \"not_inspected\""),
            "{text}"
        );
        assert!(text.contains("# \"Q9\" = \"...\""), "{text}");
        assert!(text.contains("default_method = \"patrol\""), "{text}");
        let read = text::read(&text, Path::new("start.toml"))
            .unwrap_or_else(|error| panic!("{error}\n{text}"));
        let (inventory, _) = take_in(&tables[..1], &tables[1..], &read).expect("it runs");
        assert_eq!((inventory.len(), inventory.inspections().len()), (3, 3));
        assert!(page(&guesses[1]).contains("may be a reject or a danger"));
        assert!(!page(&guesses[0]).contains("may be a reject or a danger"));
        assert!(page(&guesses[0]).contains("codes not understood: species \"Q9\" (1)"));
    }

    #[test]
    fn a_list_of_inspections_alone_still_gives_a_programme_that_runs() {
        let visits = table("visits.csv", VISITS);
        let day = date(2026, 1, 1);
        let text = programme(&[guess(&visits, day)], day);
        let read = text::read(&text, Path::new("start.toml"))
            .unwrap_or_else(|error| panic!("{error}\n{text}"));
        let (inventory, _) = take_in(from_ref(&visits), from_ref(&visits), &read).expect("it runs");
        assert_eq!(inventory.len(), 2);
    }

    #[test]
    fn a_list_with_counts_needs_no_id() {
        let counts = table(
            "counts.csv",
            "Size,Decade,Treatment,Qty\n40-4,1960s,CCA,12\n45-3,1970-1979,Penta,8",
        );
        let day = date(2026, 1, 1);
        let guess = guess(&counts, day);
        assert!(guess.unused.is_empty(), "{:?}", guess.unused);
        let text = programme(&[guess], day);
        let read = text::read(&text, Path::new("start.toml"))
            .unwrap_or_else(|error| panic!("{error}\n{text}"));
        let (inventory, _) = take_in(from_ref(&counts), &[], &read).expect("it runs");
        assert_eq!(inventory.len(), 20);
        assert!(
            inventory
                .poles()
                .iter()
                .all(|pole| pole.installed.is_some())
        );
    }

    #[test]
    fn hostile_names_and_codes_stay_texts() {
        let odd = table("a\"b.csv", "id,Result\",Date\n1,\"x = [,2020\n2,]],2021\n");
        let day = date(2026, 1, 1);
        let text = programme(&[guess(&odd, day)], day);
        assert!(text::read(&text, Path::new("start.toml")).is_ok(), "{text}");
    }
}
