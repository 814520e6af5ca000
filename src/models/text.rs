//! TOML to models: the files compiled in, and the checks that make a text a [`Models`].
//!
//! One file a kind of pole, `detection.toml`, `hazard.toml`, `agents.toml` and `pole-sizes.toml`. A message names the file and the line. Kinds stand in
//! the order of their file names with the generic kind (the one without `applies`) last.

use toml::Spanned;

use super::check::{Check, Expect, ExpectOfLife};
use super::figures::{read_detection, read_hazard};
use super::file::File;
use super::remedies::read_agents;
use super::sizes::read_sizes;
use super::twins::{AppliesText, ExpectOfLifeText, KindCheckText, KindText, ZoneText};
use super::{Cell, Doubts, Kind, Models};
use crate::Error;
use crate::pole::{Preservative, Species};
use crate::units::Zone;
use crate::wood::{LifeCurve, ServiceLife};

const DETECTION: &str = "detection.toml";
const HAZARD: &str = "hazard.toml";
const SIZES: &str = "pole-sizes.toml";
const AGENTS: &str = "agents.toml";

/// The files of `models/`; a test holds the list to the folder.
const BUILT_IN: [(&str, &str); 21] = [
    (AGENTS, include_str!("../../models/agents.toml")),
    (DETECTION, include_str!("../../models/detection.toml")),
    (HAZARD, include_str!("../../models/hazard.toml")),
    (SIZES, include_str!("../../models/pole-sizes.toml")),
    (
        "douglas-fir.toml",
        include_str!("../../models/douglas-fir.toml"),
    ),
    (
        "douglas-fir-through-bored.toml",
        include_str!("../../models/douglas-fir-through-bored.toml"),
    ),
    (
        "eucalypt-cca.toml",
        include_str!("../../models/eucalypt-cca.toml"),
    ),
    (
        "eucalypt-creosote.toml",
        include_str!("../../models/eucalypt-creosote.toml"),
    ),
    (
        "hardwood-class-1-untreated.toml",
        include_str!("../../models/hardwood-class-1-untreated.toml"),
    ),
    (
        "hardwood-class-2-untreated.toml",
        include_str!("../../models/hardwood-class-2-untreated.toml"),
    ),
    (
        "hardwood-class-3-untreated.toml",
        include_str!("../../models/hardwood-class-3-untreated.toml"),
    ),
    (
        "pine-acza.toml",
        include_str!("../../models/pine-acza.toml"),
    ),
    ("pine-cca.toml", include_str!("../../models/pine-cca.toml")),
    (
        "pine-copper-naphthenate.toml",
        include_str!("../../models/pine-copper-naphthenate.toml"),
    ),
    (
        "pine-creosote.toml",
        include_str!("../../models/pine-creosote.toml"),
    ),
    (
        "pine-dcoit.toml",
        include_str!("../../models/pine-dcoit.toml"),
    ),
    (
        "pine-pentachlorophenol.toml",
        include_str!("../../models/pine-pentachlorophenol.toml"),
    ),
    (
        "redcedar-butt-treated.toml",
        include_str!("../../models/redcedar-butt-treated.toml"),
    ),
    (
        "redcedar-full-length.toml",
        include_str!("../../models/redcedar-full-length.toml"),
    ),
    (
        "softwood-untreated.toml",
        include_str!("../../models/softwood-untreated.toml"),
    ),
    ("unknown.toml", include_str!("../../models/unknown.toml")),
];

/// The models compiled into the program.
///
/// # Errors
/// When a file of `models/` is not a valid model; a test keeps this from happening in a release.
pub fn built_in() -> Result<Models, Error> {
    let texts: Vec<(String, String)> = BUILT_IN
        .iter()
        .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
        .collect();
    read(&texts)
}

/// The models in texts given as (file name, TOML): a whole set, which replaces the one compiled in.
///
/// # Errors
/// When a text is not a valid model, or the set lacks the detection, the hazard, the sizes or the generic kind.
pub fn read(texts: &[(String, String)]) -> Result<Models, Error> {
    let mut files: Vec<File> = texts
        .iter()
        .map(|(name, text)| File { name, text })
        .collect();
    files.sort_by(|a, b| a.name.cmp(b.name));
    if let Some(pair) = files.windows(2).find(|pair| pair[0].name == pair[1].name) {
        return Err(pair[0].whole("is given twice"));
    }
    let named = |name: &'static str| {
        let file = files.iter().find(|file| file.name == name).copied();
        let missing = "is missing: a set of models needs it";
        file.ok_or_else(|| File { name, text: "" }.whole(missing))
    };
    let (early, hazard, mut checks) = read_hazard(named(HAZARD)?)?;
    let detection = read_detection(named(DETECTION)?)?;
    checks.extend(detection.checks);
    let (sizes, of_sizes) = read_sizes(named(SIZES)?)?;
    checks.extend(of_sizes);
    let (remedies, of_agents) = read_agents(named(AGENTS)?)?;
    checks.extend(of_agents);

    let mut kinds = Vec::new();
    for file in &files {
        if ![HAZARD, DETECTION, SIZES, AGENTS].contains(&file.name) {
            kinds.push(read_kind(*file, early)?);
        }
    }
    // The sort is stable: the order of names stays.
    kinds.sort_by_key(|(kind, _)| kind.is_generic());
    refuse_overlaps(&kinds)?;
    let cells = kinds
        .iter()
        .enumerate()
        .flat_map(|(place, (_, cells))| {
            cells.map(|cell| Cell {
                kind: place,
                ..cell
            })
        })
        .collect();
    Ok(Models {
        kinds: kinds.into_iter().map(|(kind, _)| kind).collect(),
        cells,
        detection: detection.detection,
        detection_origin: detection.origin,
        sensitivity_range: detection.ranges,
        doubts: Doubts::USUAL,
        method_origins: detection.origins,
        hazard,
        sizes,
        remedies,
        checks,
    })
}

/// One generic kind, and no pole that two kinds fit.
fn refuse_overlaps(kinds: &[(Kind, [Cell; Zone::COUNT])]) -> Result<(), Error> {
    let wrong = |file: &str, what: &str| Error::Model {
        file: format!("{file}.toml"),
        what: what.to_owned(),
    };
    let generic = kinds.iter().filter(|(kind, _)| kind.is_generic()).count();
    if generic != 1 {
        let file = kinds.last().map_or("unknown", |(kind, _)| kind.id.as_str());
        let what = "a set of models needs exactly one kind without `applies`: the generic one";
        return Err(wrong(file, what));
    }
    for (place, (one, _)) in kinds.iter().enumerate() {
        for (other, _) in &kinds[..place] {
            if one.overlaps(other) {
                let what = format!("fits poles that {}.toml fits too", other.id);
                return Err(wrong(&one.id, &what));
            }
        }
    }
    Ok(())
}

fn read_kind(file: File, early: LifeCurve) -> Result<(Kind, [Cell; Zone::COUNT]), Error> {
    let text: KindText = file.parse()?;
    if file.name.strip_suffix(".toml") != Some(text.id.get_ref()) {
        return Err(file.wrong(text.id.span(), "the id is not the file's name"));
    }
    let (species, preservatives, through_bored) = match &text.applies {
        Some(applies) => read_applies(file, applies)?,
        None => (Vec::new(), Vec::new(), None),
    };
    if text.check.is_empty() {
        return Err(file.whole("a model needs at least one [[check]]"));
    }
    let checks = text.check.iter().map(|check| read_kind_check(file, check));
    let kind = Kind {
        id: text.id.get_ref().clone(),
        title: text.title.clone(),
        species,
        preservatives,
        through_bored,
        origin: file.origin(&text.source.mark, &text.source.text)?,
        checks: checks.collect::<Result<_, _>>()?,
    };
    let zones = text.zone.get_ref();
    let mut cells = Vec::new();
    for zone in Zone::ALL {
        let mut rows = zones
            .iter()
            .filter(|row| row.get_ref().name == zone.to_string());
        let (Some(row), None) = (rows.next(), rows.next()) else {
            let what = format!("zone {zone} needs one [[zone]] row, no more and no less");
            return Err(file.wrong(text.zone.span(), &what));
        };
        cells.push(read_cell(file, &text, row, zone, early)?);
    }
    let cells: Result<[Cell; Zone::COUNT], _> = cells.try_into();
    match cells {
        Ok(cells) if zones.len() == Zone::COUNT => Ok((kind, cells)),
        _ => Err(file.wrong(text.zone.span(), "zones are \"1\" to \"5\"")),
    }
}

type Applies = (Vec<Species>, Vec<Preservative>, Option<bool>);

fn read_applies(file: File, applies: &Spanned<AppliesText>) -> Result<Applies, Error> {
    let text = applies.get_ref();
    if text.species.is_empty() || text.preservative.is_empty() {
        return Err(file.wrong(applies.span(), "applies needs species and preservative"));
    }
    let species = text.species.iter().map(|word| file.word(word, "species"));
    let preservatives = text
        .preservative
        .iter()
        .map(|word| file.word(word, "preservative"));
    Ok((
        species.collect::<Result<_, _>>()?,
        preservatives.collect::<Result<_, _>>()?,
        text.through_bored,
    ))
}

fn read_cell(
    file: File,
    text: &KindText,
    row: &Spanned<ZoneText>,
    zone: Zone,
    early: LifeCurve,
) -> Result<Cell, Error> {
    let values = row.get_ref();
    let (protected, internal) = (&text.protected_share, &text.internal_share);
    Ok(Cell {
        // Set when the kinds are in their order.
        kind: 0,
        zone,
        life: ServiceLife {
            main: file.curve(row.span(), &values.life)?,
            early_share: file.within(row.span(), "early_share", values.early_share, [0.0, 0.5])?,
            early,
        },
        between_fleets_ln_sd: file.within(
            row.span(),
            "between_fleets_ln_sd",
            values.between_fleets_ln_sd,
            [0.01, 2.0],
        )?,
        protected_mean: file.within(
            protected.span(),
            "protected_share.mean",
            protected.get_ref().mean,
            [0.0, 0.95],
        )?,
        protected_sd: file.within(
            protected.span(),
            "protected_share.sd",
            protected.get_ref().sd,
            [0.0, 0.5],
        )?,
        internal_share: file.within(
            internal.span(),
            "internal_share",
            *internal.get_ref(),
            [0.0, 1.0],
        )?,
    })
}

fn read_kind_check(file: File, check: &Spanned<KindCheckText>) -> Result<Check, Error> {
    let text = check.get_ref();
    let expect = match text.expect {
        ExpectOfLifeText::Survival {
            at_years,
            share,
            tolerance,
        } => ExpectOfLife::Survival {
            at_years,
            share,
            tolerance,
        },
        ExpectOfLifeText::SurvivalAtMost { at_years, share } => {
            ExpectOfLife::SurvivalAtMost { at_years, share }
        }
        ExpectOfLifeText::MedianBetweenYears(range) => ExpectOfLife::MedianBetweenYears(range),
        ExpectOfLifeText::EarlyShare { share, tolerance } => {
            ExpectOfLife::EarlyShare { share, tolerance }
        }
        ExpectOfLifeText::FleetRangeYears { low, high } => {
            ExpectOfLife::FleetRangeYears { low, high }
        }
    };
    Ok(Check {
        expect: Expect::OfZone(file.zone(check.span(), &text.zone)?, expect),
        why: text.why.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::Mark;
    use crate::pole::Method;

    fn texts() -> Vec<(String, String)> {
        BUILT_IN
            .iter()
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect()
    }

    /// The message for the compiled-in set with one change.
    fn message(file: &str, from: &str, to: &str) -> String {
        let mut texts = texts();
        let text = texts
            .iter_mut()
            .find(|(name, _)| name == file)
            .expect("a file of the set");
        assert!(text.1.contains(from), "{file} has no {from}");
        text.1 = text.1.replacen(from, to, 1);
        read(&texts).expect_err("a fault").to_string()
    }

    #[test]
    fn the_list_is_the_folder() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/models");
        let mut found: Vec<String> = std::fs::read_dir(folder)
            .expect("the folder of models")
            .map(|entry| {
                entry
                    .expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        found.sort();
        let mut listed: Vec<&str> = BUILT_IN.iter().map(|(name, _)| *name).collect();
        listed.sort_unstable();
        assert_eq!(found, listed);
    }

    #[test]
    fn every_model_gives_back_what_its_file_expects() {
        let models = built_in().expect("valid models");
        let mut ran = 0;
        for (place, kind) in models.kinds.iter().enumerate() {
            assert!(!kind.checks.is_empty(), "{} has no check", kind.id);
            for check in &kind.checks {
                assert_eq!(check.failure(&models, place), None, "{}", kind.id);
                ran += 1;
            }
        }
        for check in &models.checks {
            assert_eq!(check.failure(&models, 0), None);
            ran += 1;
        }
        // At least a check of survival and five of ranges for each of 16 kinds.
        assert!(ran >= 96, "only {ran} checks ran");
    }

    #[test]
    fn a_check_can_fail() {
        let mut models = built_in().expect("valid models");
        for cell in &mut models.cells {
            cell.life.main = cell.life.main.stretched(1.5);
            cell.between_fleets_ln_sd += 0.02;
        }
        for method in &mut models.detection.methods {
            method.sensitivity *= 0.5;
            method.false_find *= 2.0;
        }
        models.hazard.use_of_capacity = 0.4;
        for own in &mut models.sizes.dimensions {
            own.printed.clear();
            own.fibre.0 *= 0.8;
        }
        models.remedies.agents.factor.usual = 0.9;
        for (place, kind) in models.kinds.iter().enumerate() {
            let failing = kind
                .checks
                .iter()
                .filter(|check| check.failure(&models, place).is_some());
            assert!(failing.count() > 0, "{} passes whatever it says", kind.id);
        }
        for check in &models.checks {
            assert!(check.failure(&models, 0).is_some(), "{}", check.why);
        }
    }

    #[test]
    fn every_pole_finds_its_kind() {
        let models = built_in().expect("valid models");
        let kind = |species, preservative, bored| {
            let cell = models.cell_for(species, preservative, bored, Zone::ALL[2]);
            models.kind(cell).id.clone()
        };
        let (pine, creosote) = (Some(Species::Pine), Some(Preservative::Creosote));
        let untreated = Some(Preservative::Untreated);
        assert_eq!(kind(pine, creosote, None), "pine-creosote");
        assert_eq!(
            kind(Some(Species::DouglasFir), creosote, None),
            "douglas-fir"
        );
        assert_eq!(
            kind(Some(Species::DouglasFir), creosote, Some(true)),
            "douglas-fir-through-bored"
        );
        assert_eq!(
            kind(Some(Species::Spruce), untreated, None),
            "softwood-untreated"
        );
        assert_eq!(
            kind(Some(Species::WesternRedcedar), untreated, None),
            "hardwood-class-3-untreated"
        );
        assert_eq!(kind(None, creosote, None), "unknown");
        assert_eq!(kind(pine, None, None), "unknown");
        assert_eq!(models.cells.len(), models.kinds.len() * Zone::COUNT);
        for (place, cell) in models.cells.iter().enumerate() {
            assert_eq!((cell.kind, cell.zone.index()), (place / 5, place % 5));
        }
    }

    #[test]
    fn every_untreated_species_has_a_kind_of_its_own() {
        // The generic kind is one of treated wood: an untreated pole of known species must never fall to it.
        let models = built_in().expect("valid models");
        for (species, word, _) in <Species as crate::pole::Vocabulary>::WORDS {
            let untreated = Some(Preservative::Untreated);
            let cell = models.cell_for(Some(*species), untreated, None, Zone::ALL[0]);
            assert!(!models.is_generic(cell), "{word}");
        }
    }

    #[test]
    fn every_species_with_every_preservative_finds_a_documented_curve() {
        use crate::pole::{Pole, Vocabulary};
        let models = built_in().expect("valid models");
        let mut nearest = 0;
        for (species, _, _) in Species::WORDS {
            for (preservative, _, _) in Preservative::WORDS {
                for bored in [None, Some(true), Some(false)] {
                    let (species, preservative) = (Some(*species), Some(*preservative));
                    let cell = models.cell_for(species, preservative, bored, Zone::ALL[2]);
                    assert!(!models.is_generic(cell), "{species:?} {preservative:?}");
                    let pole = Pole {
                        species,
                        preservative,
                        through_bored: bored,
                        ..crate::common::pole_set(1980)
                    };
                    nearest += usize::from(models.is_nearest(&pole));
                }
            }
        }
        // Four hardwoods with five preservatives, three softwoods butt-treated; through-bored or not.
        assert_eq!(nearest, 3 * (4 * 5 + 3));
        let of = |species, preservative| {
            let cell = models.cell_for(Some(species), Some(preservative), None, Zone::ALL[2]);
            models.kind(cell).id.clone()
        };
        assert_eq!(
            of(Species::Eucalypt, Preservative::Pentachlorophenol),
            "eucalypt-creosote"
        );
        assert_eq!(
            of(Species::Pine, Preservative::ButtTreated),
            "redcedar-butt-treated"
        );
        assert!(!models.is_nearest(&crate::common::pole_set(1980)));
    }

    #[test]
    fn harsher_zones_never_lengthen_life() {
        let models = built_in().expect("valid models");
        for cells in models.cells.chunks(Zone::COUNT) {
            for pair in cells.windows(2) {
                let medians = [
                    pair[0].life.main.quantile(0.5),
                    pair[1].life.main.quantile(0.5),
                ];
                assert!(medians[0] > medians[1], "{medians:?}");
            }
        }
    }

    #[test]
    fn detection_knows_the_weak_methods() {
        let models = built_in().expect("valid models");
        let of = |method| models.detection.of(method).sensitivity;
        assert!(of(Method::Patrol) < 0.1 && of(Method::Sound) < 0.1);
        assert!(of(Method::SoundAndBore) < of(Method::PartialExcavation));
        assert!(of(Method::PartialExcavation) < of(Method::FullExcavation));
        assert_eq!(models.hazard.strength_cov_origin.mark, Mark::Published);
    }

    #[test]
    fn messages_name_the_file_and_the_line() {
        let told = message(
            "pine-creosote.toml",
            "early_share = 0.02",
            "early_share = 2",
        );
        assert!(
            told.starts_with("models/pine-creosote.toml: line "),
            "{told}"
        );
        assert!(
            told.contains("early_share = 2 is not within 0 to 0.5"),
            "{told}"
        );
        let told = message("pine-creosote.toml", "ln_sd", "ln_sigma");
        assert!(
            told.contains("line ") && told.contains("ln_sigma"),
            "{told}"
        );
        let told = message("pine-cca.toml", "mark = \"proposed\"", "mark = \"certain\"");
        assert!(told.contains("line 10: \"certain\" is no mark"), "{told}");
        let told = message("detection.toml", "false_find = 0.03", "false_find = 0.001");
        assert!(told.contains("too small"), "{told}");
        let told = message("pine-cca.toml", "name = \"2\"", "name = \"3\"");
        assert!(told.contains("zone 2 needs one [[zone]] row"), "{told}");
        let told = message("pine-cca.toml", "\"cca\"", "\"creosote\"");
        assert!(told.contains("fits poles that"), "{told}");
        let told = message("hazard.toml", "cov = 0.20", "cov = nan");
        assert!(told.contains("cov = NaN is not within"), "{told}");
        let told = message("agents.toml", "until_years = 6.5", "until_years = 9.0");
        assert!(
            told.contains("until_years = 9 is not within 5 to 8"),
            "{told}"
        );
        let told = message("agents.toml", "name = \"mitc\"", "name = \"dazomet\"");
        assert!(told.contains("Mitc needs one [[agent]]"), "{told}");
    }

    #[test]
    fn a_set_without_its_parts_is_refused() {
        for missing in [DETECTION, HAZARD, AGENTS, "unknown.toml"] {
            let mut texts = texts();
            texts.retain(|(name, _)| name != missing);
            assert!(read(&texts).is_err(), "{missing}");
        }
        let mut twice = texts();
        twice.push(twice[0].clone());
        assert!(read(&twice).is_err());
    }
}
