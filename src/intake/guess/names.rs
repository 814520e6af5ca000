//! What owners call their columns: the phrases of the trade for each of our fields, and the units that names carry.
//!
//! Common practice in column names; no list can be complete, so that a guess always says how sure it is.

use crate::units::LengthUnit;

/// Share of the full score that a name earns which holds a phrase among other words.
const HOLDS: f64 = 0.5;
/// What each phrase earns less than the one before it: enough to settle ties, too little for anything else.
const RARER: f64 = 0.001;
/// A name earns at least this when it is one of the phrases.
pub(in crate::intake) const WHOLE: f64 = 0.95;

/// Phrases field by field, parted by commas, most usual first. A column is held to all of them.
pub(super) const PHRASES: &[(&str, &str)] = &[
    (
        "id",
        "pole id, id, pole no, pole number, pole, tag, pole tag, tag no, asset id, asset no, \
         structure no, structure id, support no, mast no, mast id, facility id, ref, osm id",
    ),
    (
        "line",
        "line, feeder, circuit, line name, line no, feeder id, section, sect no, line section, \
         route, map sheet, street",
    ),
    (
        "sequence",
        "sequence, seq, seq no, position, pole order, span no, order",
    ),
    (
        "district",
        "district, region, area, depot, county, division, service centre",
    ),
    (
        "longitude",
        "longitude, lon, long, lng, gps lon, gps longitude",
    ),
    ("latitude", "latitude, lat, gps lat, gps latitude"),
    ("x", "x, easting, east, x coord, coord x"),
    ("y", "y, northing, north, y coord, coord y"),
    (
        "above_ground_defect",
        "above ground defect, defect, defects, damage, other defects",
    ),
    (
        "agent",
        "agent, chemical, fumigant, treatment agent, remedial agent",
    ),
    (
        "reinforced_type",
        "reinforced type, brace type, truss type, reinforcement",
    ),
    ("required_moment", "required moment, design moment"),
    (
        "use_of_capacity",
        "use of capacity, utilisation, utilization, loading",
    ),
    ("zone", "decay zone, zone, hazard zone, climate zone"),
    ("owner", "owner, owned by, pole owner, ownership"),
    (
        "material",
        "material, pole material, pole type, support type",
    ),
    ("status", "status, pole status, state, lifecycle"),
    (
        "removed_date",
        "removed date, date removed, removal date, year removed, removed",
    ),
    (
        "length",
        "length, pole length, height, pole height, len, overall length, ht, hgt, pole ht",
    ),
    ("class", "class, pole class, cl, strength class, cls"),
    (
        "size",
        "size, pole size, length class, height class, type size",
    ),
    ("top_diameter", "top diameter, top dia, tip diameter, top d"),
    (
        "groundline_diameter",
        "groundline diameter, gl diameter, gl dia, ground diameter, diameter, dia, diameter at gl, \
         base diameter, butt diameter",
    ),
    (
        "groundline_circumference",
        "groundline circumference, gl circumference, gl circ, circumference, circ, girth, \
         gl girth, pole girth",
    ),
    (
        "species",
        "species, timber, wood, wood species, timber species, wood type, tree, spp, pole species",
    ),
    (
        "preservative",
        "preservative, treatment, original treatment, treatment type, treated with, impregnation, \
         initial treatment, preserv, orig trt, orig treatment, trt",
    ),
    (
        "through_bored",
        "through bored, bored through, bored, thru bored",
    ),
    (
        "set_date",
        "year set, set date, date set, set year, install date, installed, install year, \
         year installed, date installed, installation date, installation year, year, vintage, set, erected, \
         decade, decade set, commissioned, date erected, year erected, in service date, yr set, \
         install yr, yr installed, inst yr, inst year",
    ),
    (
        "brand_year",
        "brand year, year branded, brand, mfg year, treated year, year treated",
    ),
    ("consequence", "consequence, criticality, below, crossing"),
    (
        "reinforced_date",
        "reinforced date, date reinforced, braced, brace date, truss date, stubbed date, reinforced",
    ),
    ("notes", "notes, note, remarks, comment, comments, remark"),
    (
        "count",
        "count, quantity, qty, number of poles, poles, no of poles",
    ),
    (
        "date",
        "inspection date, last insp, last insp date, date inspected, inspected, date, last inspection, last inspected, \
         inspection year, insp date, test date, date tested, last inspection date, year inspected, \
         insp dt, inspection dt, last insp dt, dt inspected, insp yr, insp year, date of inspection",
    ),
    (
        "method",
        "method, inspection method, inspection type, test, test method, insp type, \
         type of inspection",
    ),
    (
        "verdict",
        "verdict, result, condition, inspection result, outcome, pole condition, finding, rating, \
         insp result, test result, last result",
    ),
    (
        "remaining_circumference",
        "remaining circumference, effective circumference, circ now, girth now, \
         measured circumference, remaining girth, eff circ, current circumference",
    ),
    (
        "original_circumference",
        "original circumference, girth new, orig circ, original girth, circ new",
    ),
    (
        "outside_decay_depth",
        "outside decay depth, external decay, decay depth, shell rot depth, depth of decay, depth",
    ),
    (
        "sound_shell",
        "sound shell, shell, shell thickness, min shell, sound wood, residual shell, avg shell",
    ),
    (
        "decay_mode",
        "decay mode, decay type, decay at, rot type, decay location, decay",
    ),
    (
        "treated",
        "treated, remedial treatment, remedially treated, retreated, treated at visit",
    ),
    ("contractor", "contractor, company"),
    (
        "inspector",
        "inspector, inspected by, inspector code, inspector id, inspector name",
    ),
    ("crew", "crew, crew no, crew id"),
    ("work_order", "work order, work order no, wo, wo no"),
    ("priority", "priority, priority code"),
    ("maintained_by", "maintained by, maintainer"),
    ("retention", "retention"),
    ("voltage", "voltage, kv, voltage kv"),
    ("span", "span, span length"),
    ("setting_depth", "setting depth, depth set"),
    ("equipment", "equipment, attachments"),
    (
        "pocket_width",
        "pocket width, pocket w, width of pocket, pkt width, decay pocket width",
    ),
    (
        "pocket_depth",
        "pocket depth, pocket d, depth of pocket, pkt depth, decay pocket depth",
    ),
    (
        "pocket_side",
        "pocket side, side of pocket, pkt side, pocket direction, pocket face, pocket quadrant",
    ),
    (
        "pocket_height",
        "pocket height, height of pocket, pkt height, pocket above gl",
    ),
    (
        "above_ground_defect",
        "above ground defect, above ground defects, above ground, defect, defects, upper defects",
    ),
    (
        "agent",
        "agent, remedial agent, fumigant, treatment agent, treatment product",
    ),
    ("remarks", "remarks, remark, comments, comment, notes, note"),
];

/// The phrases of the field with this name.
pub(in crate::intake) fn phrases_of<'p>(field: &str) -> impl Iterator<Item = &'p str> + use<'p> {
    let own = PHRASES.iter().find(|(name, _)| *name == field);
    own.map_or("", |(_, phrases)| phrases)
        .split(", ")
        .filter(|phrase| !phrase.is_empty())
}

/// The words of a column's name in small letters: `Year_Set`, `yearSet` and `YEAR SET` are the same.
pub(in crate::intake) fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> = vec![String::new()];
    let mut before_is_small = false;
    for letter in name.chars() {
        if !letter.is_alphanumeric() || (letter.is_uppercase() && before_is_small) {
            words.push(String::new());
        }
        if letter.is_alphanumeric()
            && let Some(last) = words.last_mut()
        {
            last.extend(letter.to_lowercase());
        }
        before_is_small = letter.is_lowercase();
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The unit that the last word of a name gives, and the words without it.
pub(in crate::intake) fn unit_of(words: &[String]) -> (Option<LengthUnit>, &[String]) {
    let Some((last, before)) = words.split_last() else {
        return (None, words);
    };
    let unit = match last.as_str() {
        "mm" => LengthUnit::Millimetre,
        "cm" => LengthUnit::Centimetre,
        "m" | "metres" | "meters" => LengthUnit::Metre,
        "in" | "inch" | "inches" => LengthUnit::Inch,
        "ft" | "feet" => LengthUnit::Foot,
        _ => return (None, words),
    };
    (Some(unit), before)
}

/// The words without numbers at their ends: `Shell 1`, `Shell_2` and `shell3` are one name, and so are `Pocket 1 width` and
/// `pocket2_width`.
pub(in crate::intake) fn unnumbered(words: &[String]) -> Vec<String> {
    let digit = |letter: char| letter.is_ascii_digit();
    let bare = words.iter().map(|word| word.trim_end_matches(digit));
    let bare = bare.filter(|word| !word.is_empty());
    bare.map(str::to_owned).collect()
}

/// How well a name, given as its words, is one of the phrases: 1 for the phrase itself, less among other words, 0 for
/// none of it. The order of the words does not count; of two phrases the more usual one, which stands first, is a hair
/// better.
pub(in crate::intake) fn likeness<'p>(
    words: &[String],
    phrases: impl Iterator<Item = &'p str>,
) -> f64 {
    phrases
        .enumerate()
        .map(|(rank, phrase)| {
            let wanted: Vec<&str> = phrase.split(' ').collect();
            let all = wanted
                .iter()
                .all(|word| words.iter().any(|own| own == word));
            let score = if wanted.concat() == words.concat() || (all && wanted.len() == words.len())
            {
                1.0
            } else if all {
                let share = wanted.len() as f64 / words.len() as f64;
                HOLDS + (1.0 - HOLDS) * (share - 0.5).max(0.0)
            } else {
                return 0.0;
            };
            score - RARER * rank as f64
        })
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::{PHRASES, WHOLE, likeness, phrases_of, unit_of, words};
    use crate::programme::sources::Field;
    use crate::units::LengthUnit;
    use std::collections::BTreeSet;

    #[test]
    fn a_name_is_its_words_however_they_are_joined() {
        for name in ["Year_Set", "YearSet", "year set", "YEAR-SET", " Year.Set "] {
            assert_eq!(words(name), ["year", "set"], "{name}");
        }
        let own = words("gl_dia_mm");
        assert_eq!(unit_of(&own).0, Some(LengthUnit::Millimetre));
        assert_eq!(unit_of(&own).1, ["gl", "dia"]);
    }

    #[test]
    fn a_phrase_among_other_words_is_less_sure() {
        let of = |name: &str| likeness(&words(name), ["pole height", "height"].into_iter());
        assert!(of("Pole_Height") > WHOLE && of("height pole") > WHOLE);
        assert!(of("Pole_Height") > of("Height"));
        assert!(of("Lamp Height Code") < 0.6 && of("Lamp Height Code") > 0.0);
        assert!(of("Width").abs() < f64::EPSILON);
    }

    #[test]
    fn every_phrase_is_for_a_field_of_ours() {
        for (field, _) in PHRASES {
            assert!(Field::from_name(field).is_some(), "{field}");
        }
    }

    #[test]
    fn no_phrase_stands_twice_for_one_field() {
        for (field, _) in PHRASES {
            let all: Vec<&str> = phrases_of(field).collect();
            let different: BTreeSet<&str> = all.iter().copied().collect();
            assert_eq!(different.len(), all.len(), "{field}");
        }
    }
}
