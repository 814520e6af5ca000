//! `pole-sizes.toml`: classes, dimensions and fibre strengths, from the units of their sources to ours.
//!
//! The shape of the text stands here beside the checks of its values; the formulas are in [`crate::wood::sizes`].

use serde::Deserialize;
use toml::Spanned;

use super::check::{Check, Expect};
use super::file::File;
use super::twins::OriginText;
use crate::Error;
use crate::pole::{PoleClass, Species};
use crate::units::{LengthUnit, Mm, Newton, Stress};
use crate::wood::sizes::{ClassFigures, Dimensions, FibreStrength, Sizes, Timber};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SizesText {
    #[serde(rename = "title")]
    _title: String,
    source: OriginText,
    tip_load: Spanned<TipLoadText>,
    class: Spanned<Vec<Spanned<ClassText>>>,
    groundline: Spanned<GroundlineText>,
    dimensions: Vec<Spanned<DimensionsText>>,
    excess: Spanned<ExcessText>,
    unknown_species: OriginText,
    top_diameter: Spanned<TopText>,
    timbers: OriginText,
    timber: Vec<Spanned<TimberText>>,
    #[serde(default)]
    check: Vec<Spanned<CheckText>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TipLoadText {
    below_top_ft: f64,
    bending_constant: f64,
    raised_to_in: f64,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassText {
    name: String,
    top_circumference_in: f64,
    tip_load_lb: f64,
    mark: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GroundlineText {
    length_ft: Vec<f64>,
    from_butt_ft: Vec<f64>,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DimensionsText {
    species: Spanned<String>,
    fibre: String,
    taper_in_per_ft: f64,
    #[serde(default)]
    printed: Vec<PrintedText>,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PrintedText {
    length_ft: f64,
    circumference_in: Vec<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ExcessText {
    ln_mean: f64,
    ln_sd: f64,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TopText {
    taper_mm_per_m: f64,
    setting_depth: SettingText,
    ln_sd: f64,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SettingText {
    share_of_length: f64,
    plus_m: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TimberText {
    name: String,
    species: Spanned<String>,
    psi: f64,
    cov: f64,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CheckText {
    species: Spanned<String>,
    class: String,
    length_ft: f64,
    circumference_in: f64,
    tolerance_in: f64,
    why: String,
}

/// Psi that wood can have: a slip of the unit lies outside.
const PSI: [f64; 2] = [1_000.0, 30_000.0];

/// The sizes, and what they must give back.
pub(super) fn read_sizes(file: File) -> Result<(Sizes, Vec<Check>), Error> {
    let text: SizesText = file.parse()?;
    let load = text.tip_load.get_ref();
    let (excess, top) = (text.excess.get_ref(), text.top_diameter.get_ref());
    for origin in [&text.source, &text.unknown_species, &text.timbers] {
        file.origin(&origin.mark, &origin.text)?;
    }
    for (mark, words) in [
        (&load.mark, &load.text),
        (&excess.mark, &excess.text),
        (&top.mark, &top.text),
    ] {
        file.origin(mark, words)?;
    }
    if text.check.is_empty() {
        return Err(file.whole("a model needs at least one [[check]]"));
    }
    let inch = |value| LengthUnit::Inch.read(value);
    let timbers = text.timber.iter().map(|row| read_timber(file, row));
    let timbers = timbers.collect::<Result<Vec<_>, _>>()?;
    let dimensions = text
        .dimensions
        .iter()
        .map(|row| read_dimensions(file, row, &timbers));
    let within =
        |span: &Spanned<ExcessText>, key, value, range| file.within(span.span(), key, value, range);
    let at_top = |key, value, range| file.within(text.top_diameter.span(), key, value, range);
    let of_load = |key, value, range| file.within(text.tip_load.span(), key, value, range);
    let setting = &top.setting_depth;
    let sizes = Sizes {
        below_top: LengthUnit::Foot.read(of_load("below_top_ft", load.below_top_ft, [0.0, 5.0])?),
        // In inches, pounds and feet; foot-pounds are 12 inch-pounds, and the rest is a pure number.
        bending_constant: 12.0
            * of_load(
                "bending_constant",
                load.bending_constant,
                [0.000_263, 0.000_265],
            )?,
        raised_to: inch(of_load("raised_to_in", load.raised_to_in, [0.01, 1.0])?),
        classes: read_classes(file, &text.class)?,
        groundline: read_groundline(file, &text.groundline)?,
        dimensions: dimensions.collect::<Result<_, _>>()?,
        excess: [
            within(&text.excess, "ln_mean", excess.ln_mean, [0.0, 0.2])?,
            within(&text.excess, "ln_sd", excess.ln_sd, [0.005, 0.3])?,
        ],
        top_taper: at_top("taper_mm_per_m", top.taper_mm_per_m, [0.0, 30.0])? / 1000.0,
        setting_depth: (
            at_top("share_of_length", setting.share_of_length, [0.0, 0.3])?,
            Mm(1000.0 * at_top("plus_m", setting.plus_m, [0.0, 2.0])?),
        ),
        top_ln_sd: at_top("ln_sd", top.ln_sd, [0.005, 0.3])?,
        timbers,
    };
    let checks = text.check.iter().map(|row| read_check(file, row));
    Ok((sizes, checks.collect::<Result<_, _>>()?))
}

fn read_classes(
    file: File,
    rows: &Spanned<Vec<Spanned<ClassText>>>,
) -> Result<[ClassFigures; PoleClass::COUNT], Error> {
    let mut figures = [ClassFigures::default(); PoleClass::COUNT];
    for class in PoleClass::all() {
        let mut named = rows
            .get_ref()
            .iter()
            .filter(|row| row.get_ref().name == class.word());
        let (Some(row), None) = (named.next(), named.next()) else {
            let what = format!(
                "class {} needs one [[class]] row, no more and no less",
                class.word()
            );
            return Err(file.wrong(rows.span(), &what));
        };
        let own = row.get_ref();
        file.mark(&own.mark)?;
        let within = |key, value, range| file.within(row.span(), key, value, range);
        let top = within(
            "top_circumference_in",
            own.top_circumference_in,
            [5.0, 80.0],
        )?;
        let load = within("tip_load_lb", own.tip_load_lb, [50.0, 50_000.0])?;
        figures[class.index()] = ClassFigures {
            top_circumference: LengthUnit::Inch.read(top),
            tip_load: Newton::of_pounds(load),
        };
    }
    if rows.get_ref().len() != PoleClass::COUNT {
        return Err(file.wrong(rows.span(), "a [[class]] row names no class"));
    }
    Ok(figures)
}

fn read_groundline(file: File, row: &Spanned<GroundlineText>) -> Result<Vec<(Mm, Mm)>, Error> {
    let text = row.get_ref();
    file.origin(&text.mark, &text.text)?;
    let rising = text.length_ft.windows(2).all(|pair| pair[0] < pair[1]);
    if !rising || text.length_ft.is_empty() || text.length_ft.len() != text.from_butt_ft.len() {
        return Err(file.wrong(
            row.span(),
            "length_ft rises, and from_butt_ft has one number for each of its own",
        ));
    }
    let pairs = text.length_ft.iter().zip(&text.from_butt_ft);
    pairs
        .map(|(length, from_butt)| {
            let depth = file.within(row.span(), "from_butt_ft", *from_butt, [0.0, length / 2.0])?;
            Ok((LengthUnit::Foot.read(*length), LengthUnit::Foot.read(depth)))
        })
        .collect()
}

fn read_dimensions(
    file: File,
    row: &Spanned<DimensionsText>,
    timbers: &[Timber],
) -> Result<Dimensions, Error> {
    let text = row.get_ref();
    file.origin(&text.mark, &text.text)?;
    let timber = timbers.iter().find(|timber| timber.name == text.fibre);
    let Some(timber) = timber else {
        let what = format!("no [[timber]] is called {:?}", text.fibre);
        return Err(file.wrong(row.span(), &what));
    };
    let taper = file.within(
        row.span(),
        "taper_in_per_ft",
        text.taper_in_per_ft,
        [0.0, 2.0],
    )?;
    let mut printed = Vec::new();
    for own in &text.printed {
        let girths = own.circumference_in.iter().map(|girth| {
            let girth = file.within(row.span(), "circumference_in", *girth, [5.0, 100.0])?;
            Ok(LengthUnit::Inch.read(girth))
        });
        printed.push((own.length_ft, girths.collect::<Result<_, Error>>()?));
    }
    Ok(Dimensions {
        species: file.word(&text.species, "species")?,
        fibre: timber.strength.stress(),
        taper: taper / 12.0,
        printed,
    })
}

fn read_timber(file: File, row: &Spanned<TimberText>) -> Result<Timber, Error> {
    let text = row.get_ref();
    file.origin(&text.mark, &text.text)?;
    Ok(Timber {
        name: text.name.clone(),
        species: file.word::<Species>(&text.species, "species")?,
        strength: FibreStrength::Mean {
            stress: Stress::of_psi(file.within(row.span(), "psi", text.psi, PSI)?),
            cov: file.within(row.span(), "cov", text.cov, [0.01, 0.6])?,
        },
    })
}

fn read_check(file: File, row: &Spanned<CheckText>) -> Result<Check, Error> {
    let text = row.get_ref();
    let Some(class) = PoleClass::from_word(&text.class) else {
        return Err(file.wrong(row.span(), &format!("{:?} is no class", text.class)));
    };
    Ok(Check {
        expect: Expect::Size {
            species: file.word(&text.species, "species")?,
            class,
            length: LengthUnit::Foot.read(text.length_ft),
            circumference: LengthUnit::Inch.read(text.circumference_in),
            tolerance: LengthUnit::Inch.read(text.tolerance_in),
        },
        why: text.why.clone(),
    })
}
