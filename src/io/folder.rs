//! The output folder: written beside its target and exchanged whole, so that nobody ever sees half a plan.
//!
//! A folder that this program did not write is never replaced, and neither is one that holds anything but what was
//! written there. Text tables go out as CSV here. How the exchange survives a kill is `beside`'s.

use super::beside::Beside;
use crate::Error;
use crate::tables::Sheet;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The file that marks a folder as ours; it is written last.
pub const RECORD: &str = "run.json";

/// How `run.json` names this program.
pub const PROGRAM: &str = "polewright";

/// An output folder that is being written.
#[derive(Debug)]
pub struct Folder {
    /// As the user wrote it, for messages.
    target: PathBuf,
    /// Where it really stands.
    stands: PathBuf,
    overwrite: bool,
    beside: Beside,
    files: Vec<String>,
}

impl Folder {
    /// Opens a folder that will become `target`. Nothing appears at `target` before [`Folder::finish`].
    ///
    /// # Errors
    /// When `target` exists and may not be replaced, and when nothing can be written beside it.
    pub fn begin(target: &Path, overwrite: bool) -> Result<Self, Error> {
        refuse_what_is_not_ours(target, overwrite)?;
        let stands = really(target)?;
        let parent = existing_parent(&stands)?;
        let beside = Beside::begin(&parent, &stands).map_err(|cause| Error::Output {
            path: target.to_owned(),
            what: format!("nothing can be written in {}: {cause}", parent.display()),
            help: "choose a folder that you may write to with --out".to_owned(),
        })?;
        Ok(Self {
            target: target.to_owned(),
            stands,
            overwrite,
            beside,
            files: Vec::new(),
        })
    }

    /// Where it will stand.
    pub fn target(&self) -> &Path {
        &self.target
    }

    /// The files written so far.
    pub fn files(&self) -> &[String] {
        &self.files
    }

    /// Writes one file; a folder in its name is made.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(
        &mut self,
        name: &str,
        content: impl FnOnce(&mut BufWriter<fs::File>) -> io::Result<()>,
    ) -> Result<(), Error> {
        let path = self.beside.folder().join(name);
        let put = || -> io::Result<()> {
            if let Some(inside) = path.parent() {
                fs::create_dir_all(inside)?;
            }
            let mut out = BufWriter::new(fs::File::create(&path)?);
            content(&mut out)?;
            out.into_inner()
                .map_err(io::IntoInnerError::into_error)?
                .sync_all()
        };
        put().map_err(|cause| Error::File {
            path: self.target.join(name),
            cause,
        })?;
        self.files.push(name.to_owned());
        Ok(())
    }

    /// Writes a sheet as CSV.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write_csv(&mut self, sheet: &Sheet<'_>) -> Result<(), Error> {
        self.write(&format!("{}.csv", sheet.name), |out| write_csv(sheet, out))
    }

    /// Writes the run's record last and puts the folder in its place.
    ///
    /// # Errors
    /// When the folder cannot be exchanged; what stood there before then still stands.
    pub fn finish(mut self, record: &str) -> Result<Vec<String>, Error> {
        self.write(RECORD, |out| out.write_all(record.as_bytes()))?;
        // A long run later somebody may have put a file of their own there.
        refuse_what_is_not_ours(&self.target, self.overwrite)?;
        let target = self.target;
        (self.beside.exchange(&self.stands)).map_err(|cause| Error::Output {
            path: target,
            what: format!("the finished folder could not be put in its place: {cause}"),
            help: "close programs that use files of the old folder and run again".to_owned(),
        })?;
        Ok(self.files)
    }
}

/// Writes a sheet as CSV: UTF-8, commas, one line end a row.
///
/// # Errors
/// When `out` does not take it.
pub fn write_csv(sheet: &Sheet<'_>, out: impl Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(sheet.columns.iter().map(|column| column.name))?;
    for row in sheet.rows() {
        writer.write_record(row.iter().map(|value| value.cell().into_owned()))?;
    }
    writer.flush()
}

/// Where the target really stands: its whole path, and behind a link the folder that the link names.
fn really(target: &Path) -> Result<PathBuf, Error> {
    let whole = if target.exists() {
        target.canonicalize()
    } else {
        std::path::absolute(target)
    };
    whole.map_err(|cause| Error::File {
        path: target.to_owned(),
        cause,
    })
}

/// The nearest folder above `target` that exists.
fn existing_parent(target: &Path) -> Result<PathBuf, Error> {
    let parent = target
        .ancestors()
        .skip(1)
        .find(|ancestor| ancestor.exists());
    match parent {
        Some(parent) if parent.is_dir() => Ok(parent.to_owned()),
        _ => Err(Error::Output {
            path: target.to_owned(),
            what: "its parent is not a folder".to_owned(),
            help: "choose another folder with --out".to_owned(),
        }),
    }
}

/// Refuses a target that must not be replaced.
fn refuse_what_is_not_ours(target: &Path, overwrite: bool) -> Result<(), Error> {
    let refuse = |what: String, help: &str| {
        Err(Error::Output {
            path: target.to_owned(),
            what,
            help: help.to_owned(),
        })
    };
    if !target.exists() {
        return Ok(());
    }
    if !target.is_dir() {
        return refuse(
            "it is a file, not a folder".to_owned(),
            "choose another folder with --out",
        );
    }
    let names = all_names_in(target).map_err(|cause| Error::File {
        path: target.to_owned(),
        cause,
    })?;
    if names.is_empty() {
        return Ok(());
    }
    if !overwrite {
        return refuse(
            "the folder exists and is not empty".to_owned(),
            "choose a new folder, or replace an earlier output with --overwrite",
        );
    }
    let Some(written) = files_of_our_run(target) else {
        return refuse(
            format!("the folder holds no {RECORD} of {PROGRAM}, so it is not replaced"),
            "choose a new folder, or clear this one yourself",
        );
    };
    let strange: Vec<String> = names
        .into_iter()
        .filter(|name| name != RECORD && !written.contains(name))
        .collect();
    if let Some(first) = strange.first() {
        return refuse(
            format!(
                "the folder holds {} that {PROGRAM} did not write ({first}), so it is not replaced",
                crate::words::quantities::counted(strange.len(), "file", "files")
            ),
            "move what is yours elsewhere, or choose a new folder",
        );
    }
    Ok(())
}

/// The files in a folder and in the folders in it, as our record names them (`field/a.csv`); a folder with nothing in it
/// by its own name.
fn all_names_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut all = Vec::new();
    for name in names_in(folder)? {
        let path = folder.join(&name);
        // A link is looked at, not followed.
        let is_folder = fs::symlink_metadata(&path)?.is_dir();
        let inside = if is_folder {
            all_names_in(&path)?
        } else {
            Vec::new()
        };
        if inside.is_empty() {
            all.push(name);
        } else {
            all.extend(inside.iter().map(|inner| format!("{name}/{inner}")));
        }
    }
    Ok(all)
}

fn names_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// The files that the record in a folder lists; `None` when there is no record of ours.
fn files_of_our_run(folder: &Path) -> Option<Vec<String>> {
    let text = fs::read_to_string(folder.join(RECORD)).ok()?;
    let record: serde_json::Value = serde_json::from_str(&text).ok()?;
    if record.get("program")?.as_str()? != PROGRAM {
        return None;
    }
    record
        .get("files")?
        .as_array()?
        .iter()
        .map(|file| file.as_str().map(str::to_owned))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::schedule::schedule;
    use crate::words::sample;
    use tempfile::TempDir;

    fn scratch() -> TempDir {
        tempfile::tempdir().expect("a temporary folder")
    }

    fn ours(target: &Path, overwrite: bool, text: &str) -> Result<Vec<String>, Error> {
        let mut folder = Folder::begin(target, overwrite)?;
        folder.write("a.csv", |out| out.write_all(text.as_bytes()))?;
        assert!(
            !target.join("a.csv").exists() || overwrite,
            "written before it is finished"
        );
        let record = format!(
            r#"{{"program": "polewright", "files": {}}}"#,
            serde_json::to_string(folder.files()).expect("names")
        );
        folder.finish(&record)
    }

    fn entries(folder: &Path) -> Vec<String> {
        names_in(folder).expect("a folder")
    }

    #[test]
    fn sheets_in_a_folder_of_ours_are_replaced_and_a_strangers_among_them_are_not() {
        let place = scratch();
        let target = place.path().join("plan");
        let write = || {
            let mut folder = Folder::begin(&target, true)?;
            folder.write("field/a.csv", |out| out.write_all(b"1"))?;
            let record = r#"{"program": "polewright", "files": ["field/a.csv"]}"#;
            folder.finish(record)
        };
        write().expect("a new folder");
        write().expect("our own is replaced");
        fs::write(target.join("field/mine.csv"), "mine").expect("a file");
        let refused = write().expect_err("a stranger's file").to_string();
        assert!(refused.contains("field/mine.csv"), "{refused}");
        assert!(target.join("field/mine.csv").exists());
    }

    #[test]
    fn a_folder_appears_whole_and_nothing_is_left_beside_it() {
        let place = scratch();
        let target = place.path().join("new/plan");
        let files = ours(&target, false, "1").expect("a new folder");
        assert_eq!(files, ["a.csv", RECORD]);
        assert_eq!(entries(&target), ["a.csv", RECORD]);
        assert_eq!(entries(place.path()), ["new"]);
    }

    #[test]
    fn our_own_folder_is_replaced_only_when_asked() {
        let place = scratch();
        let target = place.path().join("plan");
        ours(&target, false, "1").expect("a new folder");
        let refused = ours(&target, false, "2").expect_err("it exists");
        assert!(refused.to_string().contains("not empty"), "{refused}");
        ours(&target, true, "2").expect("ours may be replaced");
        assert_eq!(
            fs::read_to_string(target.join("a.csv")).expect("the file"),
            "2"
        );
        assert_eq!(entries(place.path()), ["plan"]);
    }

    #[test]
    fn a_strangers_folder_and_strange_files_are_never_replaced() {
        let place = scratch();
        let target = place.path().join("plan");
        fs::create_dir(&target).expect("a folder");
        fs::write(target.join("letters.txt"), "dear").expect("a file");
        let refused = ours(&target, true, "2").expect_err("not ours");
        assert!(refused.to_string().contains("no run.json"), "{refused}");
        fs::remove_file(target.join("letters.txt")).expect("gone");
        ours(&target, true, "1").expect("an empty folder may be used");
        fs::write(target.join("notes.txt"), "mine").expect("a file");
        let refused = ours(&target, true, "2").expect_err("the owner's own file");
        assert!(refused.to_string().contains("notes.txt"), "{refused}");
        assert_eq!(entries(&target), ["a.csv", "notes.txt", RECORD]);
        assert_eq!(entries(place.path()), ["plan"]);
    }

    #[test]
    fn a_file_that_came_while_a_plan_was_made_is_not_lost() {
        let place = scratch();
        let target = place.path().join("plan");
        ours(&target, false, "1").expect("a new folder");
        let folder = Folder::begin(&target, true).expect("ours may be replaced");
        fs::write(target.join("notes.txt"), "mine").expect("a file");
        let refused = folder.finish("{}").expect_err("the owner's own file");
        assert!(refused.to_string().contains("notes.txt"), "{refused}");
        assert_eq!(entries(&target), ["a.csv", "notes.txt", RECORD]);
        assert_eq!(entries(place.path()), ["plan"]);
    }

    #[cfg(unix)]
    #[test]
    fn behind_a_link_the_folder_that_it_names_is_replaced() {
        let place = scratch();
        let (target, link) = (place.path().join("plan"), place.path().join("link"));
        ours(&target, false, "1").expect("a new folder");
        std::os::unix::fs::symlink("plan", &link).expect("a link");
        ours(&link, true, "2").expect("ours may be replaced");
        let text = fs::read_to_string(target.join("a.csv")).expect("the file");
        assert_eq!(text, "2");
        let is = fs::symlink_metadata(&link).expect("the link");
        assert!(is.is_symlink());
        assert_eq!(entries(place.path()), ["link", "plan"]);
    }

    #[test]
    fn an_abandoned_folder_leaves_nothing() {
        let place = scratch();
        let target = place.path().join("plan");
        let mut folder = Folder::begin(&target, false).expect("a new folder");
        folder
            .write("a.csv", |out| out.write_all(b"1"))
            .expect("a file");
        drop(folder);
        assert!(entries(place.path()).is_empty());
    }

    #[test]
    fn a_file_is_no_place_for_a_folder() {
        let place = scratch();
        let file = place.path().join("file");
        fs::write(&file, "x").expect("a file");
        assert!(Folder::begin(&file, true).is_err());
        let inside = Folder::begin(&file.join("plan"), true).expect_err("inside a file");
        assert!(inside.to_string().contains("not a folder"), "{inside}");
    }

    #[test]
    fn a_csv_reads_back_with_every_cell() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let mut bytes = Vec::new();
        write_csv(&sheet, &mut bytes).expect("memory takes it");
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        assert_eq!(
            reader.headers().expect("headers").len(),
            sheet.columns.len()
        );
        let rows: Vec<csv::StringRecord> = reader
            .records()
            .collect::<Result<_, _>>()
            .expect("every row has every cell");
        assert_eq!(rows.len(), sheet.len);
        assert_eq!(&rows[0][1], "A-1");
    }
}
