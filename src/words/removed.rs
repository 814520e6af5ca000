//! What is said of the records of removed poles: what they taught, or what would make them teach.

use super::quantities::{count, counted};
use crate::belief::gone::RemovedRecords;

/// What would make the records of removed poles teach; `None` where they do, or where there are none.
pub fn teach_nothing(records: &RemovedRecords) -> Option<String> {
    if records.known == 0 || records.since.is_some() {
        return None;
    }
    let year = records.first_year.unwrap_or_default();
    Some(format!(
        "the records of {} teach nothing: say removals.listed_since, the year since which all that went are listed (the first on record went in {year})",
        counted(records.known, "removed pole", "removed poles")
    ))
}

/// One line about the records of removed poles for the page; `None` where there are none.
pub fn line(records: &RemovedRecords) -> Option<String> {
    if records.known == 0 {
        return None;
    }
    let kept = format!(
        "{} kept apart: what was found in them says nothing of the poles that stand there now",
        counted(
            records.known,
            "pole that is gone is",
            "poles that are gone are"
        )
    );
    Some(match (records.since, teach_nothing(records)) {
        (Some(since), _) => format!(
            "{kept}; {} of {} that went since {since} teach how long such poles last",
            count(records.used),
            count(records.listed)
        ),
        (None, Some(why)) => format!("{kept}; {why}"),
        (None, None) => kept,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn records_that_teach_nothing_say_what_would_make_them_teach() {
        let apart = RemovedRecords {
            known: 12,
            first_year: Some(2011),
            ..RemovedRecords::default()
        };
        let text = line(&apart).expect("a line");
        assert!(text.contains("removals.listed_since") && text.contains("2011"));
        let taught = RemovedRecords {
            listed: 9,
            used: 8,
            since: Some(date(2015, 1, 1)),
            ..apart
        };
        let text = line(&taught).expect("a line");
        assert!(text.contains("8 of 9 that went since 2015-01-01"), "{text}");
        assert_eq!(line(&RemovedRecords::default()), None);
    }
}
