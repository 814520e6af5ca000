//! What a workbook's archive may hold before anybody reads it; with the tests of `workbook` the only file that names zip.
//!
//! A workbook is a zip archive of XML (ECMA-376), so that a small file can be made to expand without end: what it expands
//! to is counted before it is read.

use super::refused;
use crate::Error;
use std::io::{self, Cursor, Read};
use std::path::Path;

/// What a workbook may expand to, in bytes: a sheet of a million rows and some twenty columns.
const MOST_BYTES: u64 = 1 << 30;

/// An error when the archive expands to more than a sheet of any use.
pub(super) fn refuse_bomb(bytes: &[u8], path: &Path) -> Result<(), Error> {
    refuse_more_than(MOST_BYTES, bytes, path)
}

/// An error when the archive expands to more than `most` bytes. What it declares is not trusted: it is expanded and
/// counted, unless even the most that the compression can do would not reach so far.
fn refuse_more_than(most: u64, bytes: &[u8], path: &Path) -> Result<(), Error> {
    /// The highest ratio of DEFLATE (RFC 1951): 258 bytes from two bits.
    const HIGHEST_RATIO: u64 = 1032;
    if (bytes.len() as u64).saturating_mul(HIGHEST_RATIO) <= most {
        return Ok(());
    }
    let broken = |cause: &dyn std::fmt::Display| {
        refused(
            path,
            &format!("this is not a whole workbook: {cause}"),
            "was it copied or downloaded to its end?",
        )
    };
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|cause| broken(&cause))?;
    let mut left = most;
    for place in 0..archive.len() {
        let part = archive.by_index(place).map_err(|cause| broken(&cause))?;
        let expanded = io::copy(&mut part.take(left + 1), &mut io::sink());
        let expanded = expanded.map_err(|cause| broken(&cause))?;
        if expanded > left {
            return Err(refused(
                path,
                &format!("the workbook expands to more than {} MB", most >> 20),
                "save the sheet as CSV, or take out what does not belong to the list",
            ));
        }
        left -= expanded;
    }
    Ok(())
}

/// An error when the list of shared texts says that it has more texts than a sheet may have cells: its reader makes room
/// for as many before it looks for the first. An archive that cannot be read is left to that reader.
pub(super) fn refuse_boast(bytes: &[u8], most: usize, path: &Path) -> Result<(), Error> {
    /// Where the list says so, its first element, lies within these bytes.
    const HEAD: u64 = 1 << 16;
    let Ok(mut archive) = zip::ZipArchive::new(Cursor::new(bytes)) else {
        return Ok(());
    };
    for place in 0..archive.len() {
        let Ok(part) = archive.by_index(place) else {
            continue;
        };
        let is_list = |name: &str| name.to_lowercase().ends_with("sharedstrings.xml");
        if !part.name().is_ok_and(|name| is_list(&name)) {
            continue;
        }
        let mut head = Vec::new();
        // What cannot be expanded says nothing.
        let _ = part.take(HEAD).read_to_end(&mut head);
        let head = String::from_utf8_lossy(&head);
        let said = head.split_once("uniqueCount").map_or("", |(_, rest)| rest);
        let said = said.trim_start_matches(|c: char| !c.is_ascii_digit() && c != '>');
        let end = said.find(|c: char| !c.is_ascii_digit());
        let digits = said[..end.unwrap_or(said.len())].trim_start_matches('0');
        let boasts = match digits.parse::<usize>() {
            Ok(count) => count > most,
            Err(_) => !digits.is_empty(),
        };
        if boasts {
            let what = format!("the workbook says that it has {digits} different texts");
            return Err(refused(
                path,
                &what,
                "open it and save it again, or save the sheet as CSV",
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{refuse_bomb, refuse_more_than};
    use std::io::{Cursor, Write};
    use std::path::Path;
    use zip::write::SimpleFileOptions;

    #[test]
    fn what_expands_too_far_is_refused_before_it_is_read() {
        let blanks = " ".repeat(3 << 20);
        let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for name in ["a.xml", "b.xml"] {
            let options = SimpleFileOptions::default();
            archive.start_file(name, options).expect("a part");
            archive.write_all(blanks.as_bytes()).expect("its text");
        }
        let bytes = archive.finish().expect("an archive").into_inner();
        assert!(bytes.len() < 20_000, "{} bytes expand to 6 MB", bytes.len());
        let path = Path::new("p.xlsx");
        let refused = refuse_more_than(5 << 20, &bytes, path).expect_err("6 MB");
        assert!(refused.to_string().contains("more than 5 MB"), "{refused}");
        assert!(refuse_more_than(6 << 20, &bytes, path).is_ok());
        assert!(refuse_bomb(&bytes, path).is_ok());
    }
}
