//! `polewright check LIST...`: what bare lists probably are, and a commented programme to start from.
//!
//! The guess is shown, written as a programme, and read by that programme, so that the first problems are seen at once.

use super::check::{CheckArgs, as_text, status};
use crate::Error;
use crate::intake::{Guess, Reading, guess, take_in};
use crate::io::read::{read_sources, read_table};
use crate::programme::text;
use crate::units::{Date, LengthUnit};
use crate::words::starter;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The page (or JSON) for bare lists, and whether their data have errors.
///
/// # Errors
/// When a list cannot be read, when the programme would overwrite a file, and when it cannot be written.
pub(super) fn checked(args: &CheckArgs, today: Date) -> Result<(String, u8), Error> {
    // A plan made now is for the year that comes.
    let plan_from = Date::new(today.year() + 1, 1, 1).unwrap_or(today);
    let mut guesses = Vec::new();
    for path in &args.inputs {
        guesses.push(guess(&read_table(path)?, plan_from));
    }
    if !guesses.iter().any(starter::tells_poles_apart) {
        return Err(Error::Programme {
            path: args.inputs[0].clone(),
            what: format!(
                "no column looks like the id of a pole or like a count of poles: {}",
                guesses[0].unused.join(", ")
            ),
            help: "write a programme that names it: [[poles]] with file and columns = { id = \"...\" }; or is the header further down (header_row)?"
                .to_owned(),
        });
    }
    let path = args.out.clone().unwrap_or_else(|| beside(&args.inputs[0]));
    let folder = path.parent().unwrap_or(Path::new(""));
    for (guess, list) in guesses.iter_mut().zip(&args.inputs) {
        guess.file = seen_from(folder, list)?;
    }
    let written = starter::programme(&guesses, plan_from);
    let programme = text::read(&written, &path)?;
    let read = read_sources(&programme, folder)?;
    let (inventory, problems) = take_in(&read.poles, &read.inspections, &programme)?;
    let kept = keep(&path, &written, args.overwrite)?;
    let status = status(&inventory, &problems);
    if args.json {
        let answer = json!({
            "programme": path.display().to_string(),
            "written": kept,
            "lists": guesses.iter().map(as_json).collect::<Vec<_>>(),
        });
        return Ok((format!("{answer:#}\n"), status));
    }
    let mut page: String = guesses
        .iter()
        .map(|guess| starter::page(guess) + "\n")
        .collect();
    page += &as_text(&inventory, &problems, &programme);
    let shown = path.display();
    let end = if kept {
        format!(
            "A programme to start from was written: {shown}\nGo through it, then: polewright check {shown}"
        )
    } else {
        format!(
            "{shown} is there already and was left as it is. Give another name with --out, or --overwrite."
        )
    };
    let page = [page, end].join("\n") + "\n";
    Ok((page, status))
}

/// Whether an input is a programme: a text whose name ends in `.toml`.
pub(super) fn is_programme(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
}

/// Where the programme goes: to where the command runs, by the first list's name.
fn beside(list: &Path) -> PathBuf {
    let stem = list
        .file_stem()
        .map_or_else(|| "list".into(), |stem| stem.to_string_lossy());
    PathBuf::from(format!("{stem}-programme.toml"))
}

/// The list's path as the programme in `folder` must name it.
pub(super) fn seen_from(folder: &Path, list: &Path) -> Result<String, Error> {
    if folder.as_os_str().is_empty() {
        return Ok(list.display().to_string());
    }
    let whole = std::path::absolute(list).map_err(|cause| Error::File {
        path: list.to_owned(),
        cause,
    })?;
    let own = std::path::absolute(folder).map_err(|cause| Error::File {
        path: folder.to_owned(),
        cause,
    })?;
    Ok(whole
        .strip_prefix(&own)
        .unwrap_or(&whole)
        .display()
        .to_string())
}

/// Writes the programme; false where a file of that name is to stay.
fn keep(path: &Path, text: &str, overwrite: bool) -> Result<bool, Error> {
    if path.exists() && !overwrite {
        return Ok(false);
    }
    crate::io::write_whole(path, text).map_err(|cause| Error::File {
        path: path.to_owned(),
        cause,
    })?;
    Ok(true)
}

fn as_json(guess: &Guess) -> Value {
    let mut list = reading_as_json(&guess.reading);
    list["file"] = json!(guess.file);
    list["rows"] = json!(guess.rows);
    list["not_used"] = json!(guess.unused);
    list["last_inspection"] = json!(guess.last_inspection.as_ref().map(reading_as_json));
    list
}

fn reading_as_json(reading: &Reading) -> Value {
    let columns = reading.columns.iter().map(|own| {
        json!({
            "field": own.field.info().name, "columns": own.columns, "how_sure": own.sureness.word(),
            "why": own.why, "unit": own.unit.map(LengthUnit::word),
        })
    });
    let codes = reading.codes.iter().map(|code| {
        json!({ "field": code.field.info().name, "code": code.raw, "rows": code.rows, "word": code.word })
    });
    json!({ "columns": columns.collect::<Vec<_>>(), "codes": codes.collect::<Vec<_>>() })
}
