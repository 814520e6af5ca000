//! Bytes that nobody would write, for everything that takes bytes or numbers from outside: seeds, made worse at random.
//!
//! Case `number` of a target is the same on every machine, so that a find is named by both. What is found is kept in
//! `tests/finds/` under the target's name, and is run again by every test.

use crate::common::{inspected, inventory_of, pole_set, programme};
use jiff::civil::date;
use polewright::Error;
use polewright::chance::{Key, Purpose, Slot, Stream};
use polewright::intake::{Table, guess, stations, take_in};
use polewright::io::read::table_of;
use polewright::models::text as models;
use polewright::pole::{Method, Place, Verdict};
use polewright::problem::{Code, Problem, Problems, Source};
use polewright::programme::sources::TableSource;
use polewright::programme::{Programme, Sources, text as programmes};
use polewright::projection::Projection;
use polewright::space::outline::{outline, way_along};
use polewright::space::{Neighbours, neighbourhoods, walking_order};
use polewright::tables::problems::problems as sheet_of_problems;
use polewright::units::Mm;
use polewright::wood::LifeCurve;
use polewright::wood::section::Section;
use rand::RngExt;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// Where the last panic of this process was.
static LAST_PANIC: Mutex<String> = Mutex::new(String::new());

/// Something that takes bytes from outside.
pub struct Target {
    pub name: &'static str,
    seeds: fn() -> Vec<Vec<u8>>,
    worsen: fn(&mut Stream, &[u8]) -> Vec<u8>,
    run: fn(&[u8]),
}

/// Every target.
pub const TARGETS: [Target; 11] = [
    Target {
        name: "csv",
        seeds: csvs,
        worsen: worsened,
        run: run_table,
    },
    Target {
        name: "xlsx",
        seeds: workbooks,
        worsen: worsened_archive,
        run: run_table,
    },
    Target {
        name: "geojson",
        seeds: layers,
        worsen: worsened,
        run: run_table,
    },
    Target {
        name: "parquet",
        seeds: parquets,
        worsen: worsened,
        run: run_table,
    },
    Target {
        name: "stations",
        seeds: station_tables,
        worsen: worsened,
        run: run_stations,
    },
    Target {
        name: "programme",
        seeds: programme_texts,
        worsen: worsened,
        run: run_programme,
    },
    Target {
        name: "models",
        seeds: model_texts,
        worsen: worsened,
        run: run_models,
    },
    Target {
        name: "geometry",
        seeds: places,
        worsen: worsened_numbers,
        run: run_geometry,
    },
    Target {
        name: "curves",
        seeds: curves,
        worsen: worsened_numbers,
        run: run_curves,
    },
    Target {
        name: "sections",
        seeds: sections,
        worsen: worsened_numbers,
        run: run_sections,
    },
    Target {
        name: "projections",
        seeds: points,
        worsen: worsened_numbers,
        run: run_projections,
    },
];

impl Target {
    /// The bytes of a case.
    pub fn case(&self, number: u32, seeds: &[Vec<u8>]) -> Vec<u8> {
        let mut chance = Key::of(17, self.name).stream(number, Slot::new(Purpose::Invent, 0, 0));
        let seed = &seeds[number as usize % seeds.len()];
        (self.worsen)(&mut chance, seed)
    }

    pub fn seeds(&self) -> Vec<Vec<u8>> {
        (self.seeds)()
    }

    /// Runs bytes through the target.
    ///
    /// # Errors
    /// Where it panicked.
    pub fn run(&self, bytes: &[u8]) -> Result<(), String> {
        std::panic::catch_unwind(|| (self.run)(bytes))
            .map_err(|_| format!("{}: {}", self.name, last_panic()))
    }
}

/// Keeps panics from filling the terminal, and remembers the last one.
pub fn remember_panics() {
    std::panic::set_hook(Box::new(|panic| {
        *LAST_PANIC.lock().unwrap_or_else(PoisonError::into_inner) = panic.to_string();
    }));
}

fn last_panic() -> String {
    LAST_PANIC
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .clone()
}

/// A refusal must be a sentence; a reader that gave up must be somebody else's.
fn look_at(refusal: &Error) {
    let said = refusal.to_string();
    assert!(said.len() > 10, "{said:?} helps nobody");
    let own = said.contains("its reader gave up") && last_panic().contains("panicked at src/");
    assert!(!own, "a reader of ours gave up: {}", last_panic());
}

fn run_table(bytes: &[u8]) {
    let read = table_of(bytes, &TableSource::default(), Path::new("list"));
    match read {
        Ok(table) => take_everything_in(table),
        Err(refusal) => look_at(&refusal),
    }
    let odd = TableSource {
        header_row: Some(3),
        ..TableSource::default()
    };
    if let Ok(table) = table_of(bytes, &odd, Path::new("list")) {
        take_everything_in(table);
    }
}

/// A table as a list of poles and of inspections, and as a list of which nothing is known.
fn take_everything_in(mut table: Table) {
    "list".clone_into(&mut table.file);
    let found = guess(&table, date(2026, 1, 1));
    assert_eq!(found.file, "list");
    let source = || TableSource {
        file: "list".to_owned(),
        ..TableSource::default()
    };
    let programme = Programme {
        sources: Sources {
            poles: vec![source()],
            inspections: vec![source()],
            ..Sources::default()
        },
        ..programme()
    };
    let rows = table.rows.len();
    match take_in(&[table.clone()], &[table], &programme) {
        Ok((inventory, _)) => {
            let count = inventory.pole_rows;
            assert_eq!(
                count.used + count.out_of_scope + count.set_aside,
                count.read
            );
            assert!(
                count.read >= rows,
                "{} of {rows} rows are accounted for",
                count.read
            );
        }
        Err(refusal) => look_at(&refusal),
    }
}

fn run_stations(bytes: &[u8]) {
    if let Ok(table) = table_of(bytes, &TableSource::default(), Path::new("list"))
        && let Err(refusal) = stations(&table, &BTreeMap::new())
    {
        look_at(&refusal);
    }
}

/// Whatever a programme decides: a plan that passes its audit, or a sentence.
fn run_programme(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let read = programmes::read(&text, Path::new("programme.toml"));
    let mut programme = match read {
        Ok(programme) => programme,
        Err(refusal) => return look_at(&refusal),
    };
    programme.trials = programme.trials.min(2);
    let seen = |year, verdict| inspected(date(year, 6, 1), Method::PartialExcavation, verdict);
    let inventory = inventory_of(vec![
        (
            "A",
            "line",
            pole_set(1950),
            vec![seen(2015, Verdict::DecayServiceable)],
        ),
        (
            "B",
            "line",
            pole_set(1990),
            vec![seen(2020, Verdict::RejectReplace)],
        ),
        ("C", "", pole_set(2010), vec![]),
    ]);
    let models = models::built_in().expect("valid models");
    if let Err(refusal) = polewright::plan(&inventory, &models, &programme) {
        assert!(!matches!(refusal, Error::Audit(_)), "{refusal}");
        look_at(&refusal);
    }
}

/// A set of models with one file made worse: the first line is its name.
fn run_models(bytes: &[u8]) {
    let all = String::from_utf8_lossy(bytes);
    let (name, text) = all.split_once('\n').unwrap_or((&all, ""));
    let mut texts = built_in_texts();
    texts.retain(|(own, _)| own != name);
    texts.push((name.to_owned(), text.to_owned()));
    match models::read(&texts) {
        Err(refusal) => look_at(&refusal),
        Ok(models) => {
            for cell in &models.cells {
                let shares = [0.0, 1e-9, 1.0, 40.0, 1e9].map(|age| cell.life.cdf(age, 0.0));
                assert!(
                    shares.iter().all(|share| (0.0..=1.0).contains(share)),
                    "{shares:?}"
                );
                assert!(shares.is_sorted(), "{shares:?}");
            }
        }
    }
}

fn run_geometry(bytes: &[u8]) {
    let places: Vec<Place> = numbers(bytes)
        .chunks_exact(2)
        .map(|pair| Place {
            // What intake lets through lies on the earth.
            longitude: if pair[0].is_finite() {
                pair[0] % 180.0
            } else {
                0.0
            },
            latitude: if pair[1].is_finite() {
                pair[1] % 90.0
            } else {
                0.0
            },
        })
        .collect();
    let each_once = |mut order: Vec<usize>| {
        order.sort_unstable();
        assert!(order.into_iter().eq(0..places.len()), "somebody is lost");
    };
    if !places.is_empty() {
        each_once(walking_order(&places, 0));
    }
    for parts in [1, 3, 1_000] {
        each_once(neighbourhoods(&places, parts).concat());
    }
    let index = Neighbours::new(&places);
    for place in &places {
        assert_eq!(index.nearest(*place, 3).len(), places.len().min(3));
        assert!(
            !index.within(*place, 1.0).is_empty(),
            "a place is not within 1 m of itself"
        );
    }
    let finite = |place: &Place| place.longitude.is_finite() && place.latitude.is_finite();
    assert!(way_along(&places).concat().iter().all(finite));
    // Packages are outlined, and no package reaches half round the earth.
    let near: Vec<Place> = (places.iter())
        .map(|place| Place {
            longitude: places[0].longitude + place.longitude / 1_000.0,
            latitude: (places[0].latitude * 0.9) + place.latitude / 1_000.0,
        })
        .collect();
    for rings in outline(&near, 50.0, 2_000.0) {
        assert!(rings.concat().iter().all(finite));
        assert!(
            rings
                .iter()
                .all(|ring| ring.len() > 3 && ring.first() == ring.last())
        );
    }
}

fn run_curves(bytes: &[u8]) {
    for four in numbers(bytes).chunks_exact(4) {
        // Models and owners give curves of these ranges.
        let within = |number: f64, least: f64, most: f64| {
            let share = if number.is_finite() {
                (number.abs() / 1e3) % 1.0
            } else {
                1.0
            };
            least + share * (most - least)
        };
        let (years, spread) = (within(four[0], 0.1, 1e4), within(four[1], 1e-3, 5.0));
        for curve in [
            LifeCurve::Lognormal {
                median_years: years,
                ln_sd: spread,
            },
            LifeCurve::Weibull {
                shape: 1.0 / spread,
                scale_years: years,
            },
        ] {
            let mut ages = [four[2], four[3]].map(|age| if age.is_nan() { 0.0 } else { age });
            ages.sort_by(f64::total_cmp);
            let shares = ages.map(|age| curve.cdf(age));
            assert!(
                shares.iter().all(|share| (0.0..=1.0).contains(share)),
                "{curve:?} {ages:?} {shares:?}"
            );
            assert!(shares.is_sorted(), "{curve:?} {ages:?} {shares:?}");
            for share in [0.0, 1e-300, 0.5, 1.0 - 1e-16, 1.0] {
                let age = curve.quantile(share);
                assert!(age >= 0.0 && !age.is_nan(), "{curve:?} {share} {age}");
            }
        }
    }
}

fn run_sections(bytes: &[u8]) {
    for three in numbers(bytes).chunks_exact(3) {
        // What intake lets through is a number, and a diameter is above nothing.
        let [diameter, depth, shell] = [three[0], three[1], three[2]].map(|number| {
            if number.is_finite() {
                number.abs().min(1e6)
            } else {
                1.0
            }
        });
        let shell = (three[2].is_finite()).then_some(Mm(shell));
        let section = Section::measured(Mm(diameter.max(1e-6)), Mm(depth), shell);
        let strength = section.remaining_strength();
        assert!((0.0..=1.0).contains(&strength), "{section:?} {strength}");
        let girth = section.equivalent_circumference().0;
        assert!(girth.is_finite() && girth >= 0.0, "{section:?} {girth}");
    }
}

fn run_projections(bytes: &[u8]) {
    for three in numbers(bytes).chunks_exact(3) {
        let code = if three[0].is_finite() {
            three[0].abs() % 40_000.0
        } else {
            3857.0
        };
        let Ok(projection) = Projection::of(code as u32) else {
            continue;
        };
        if let Some(place) = projection.place(three[1], three[2]) {
            assert!(
                place.longitude.abs() <= 180.0 && place.latitude.abs() <= 90.0,
                "{place:?}"
            );
            let _ = projection.strays(place);
        }
    }
}

fn texts(all: &[&str]) -> Vec<Vec<u8>> {
    all.iter().map(|text| text.as_bytes().to_vec()).collect()
}

fn csvs() -> Vec<Vec<u8>> {
    let utf_16 = "id|set_date\nM\u{fc}hl 1|1980\n".encode_utf16();
    let utf_16: Vec<u8> = utf_16.flat_map(u16::to_le_bytes).collect();
    let mut all = texts(&[
        "id,line,set_date,length,class,longitude,latitude,species,preservative\nA-1,\"Mill, north\",1979-05-01,40 ft,4,10.5,50.5,pine,cca\nA-2,Mill,1985,12m,H4,10.51,50.51,pine,creosote\n",
        "sep=;\nid;date;method;verdict;sound_shell\n1;2020-05-01;patrol;sound;\"80; 90\"\n2;3/4/2021;sound_and_bore;danger;3 1/2 in\n",
        "id\tset_date\tnotes\n1\t1980\t\"two\nlines\"\n2\t1990\t5\" pole\n",
        "size,decade,preservative,count\n40-4,1970s,creosote,30\n45-3,1990s,cca,12\n",
    ]);
    all.push(utf_16);
    all
}

fn layers() -> Vec<Vec<u8>> {
    texts(&[
        r#"{"type":"FeatureCollection","features":[{"type":"Feature","id":"n/1","geometry":{"type":"Point","coordinates":[11.5,50.25,3]},"properties":{"id":7,"set_date":"1980","tags":{"a":[1,null]}}},{"type":"Feature","geometry":{"type":"LineString","coordinates":[[0,1],[2,3]]},"properties":{}},{"type":"Feature","id":2,"geometry":null,"properties":null}]}"#,
        r#"{"type":"FeatureCollection","bbox":[1,2,3,4],"features":[{"type":"Feature","id":3,"geometry":{"type":"Point","coordinates":[-1e1,5E1]},"properties":{"date":"2020-01-01","method":"patrol","verdict":"sound"}}]}"#,
    ])
}

fn station_tables() -> Vec<Vec<u8>> {
    let months: Vec<String> = (1..=12)
        .map(|month| format!("Hill,{month},{}.5,{month}\n", month - 3))
        .collect();
    texts(&[&format!(
        "station,month,mean_temperature_c,wet_days\n{}",
        months.concat()
    )])
}

fn programme_texts() -> Vec<Vec<u8>> {
    texts(&[
        include_str!("../../data-demo/programme.toml"),
        "title = \"t\"\nplan_from = 2026-01-01\ntrials = 2\nhorizon_years = 15\n[[poles]]\nfile = \"p.csv\"\ncolumns = { id = \"ID\" }\nunits = { length = \"ft\" }\n[[inspections]]\nfile = \"i.csv\"\ncodes.method = { S = \"sound_and_bore\" }\n[budget]\ncapital = [100, 100]\n[costs]\ncurrency = \"EUR\"\nprice_year = 2026\n",
    ])
}

/// The models by their names, from the folder that the program compiles in.
fn built_in_texts() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("models");
    let entries = std::fs::read_dir(folder).expect("the models");
    let mut all: Vec<(String, String)> = entries
        .map(|entry| {
            let path = entry.expect("an entry").path();
            let name = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            (name, std::fs::read_to_string(path).expect("a model"))
        })
        .collect();
    all.sort();
    all
}

fn model_texts() -> Vec<Vec<u8>> {
    let all = built_in_texts().into_iter();
    all.map(|(name, text)| format!("{name}\n{text}").into_bytes())
        .collect()
}

/// A list of problems as a table: texts, whole numbers and empty cells.
fn problem_list() -> Problems {
    let problem = |row| Problem {
        code: Code::RaggedRow,
        source: Source { file: 0, row },
        cell: None,
        pole: (row % 2 == 0).then(|| format!("A-{row}")),
        what: "the row has 3 cells, the header 4".to_owned(),
        done: "kept".to_owned(),
    };
    Problems {
        files: vec!["poles.csv".to_owned()],
        list: (2..40).map(problem).collect(),
    }
}

fn parquets() -> Vec<Vec<u8>> {
    let problems = problem_list();
    let mut bytes = Vec::new();
    polewright::io::parquet::write(&sheet_of_problems(&problems), &mut bytes)
        .expect("memory takes it");
    vec![bytes]
}

fn workbooks() -> Vec<Vec<u8>> {
    let problems = problem_list();
    let sheet = sheet_of_problems(&problems);
    let page = polewright::io::workbook::Page {
        note: "a note",
        fixed: 1,
        sheet: &sheet,
    };
    let mut bytes = Vec::new();
    polewright::io::workbook::write(&[page], "title", "caution", date(2026, 1, 1), &mut bytes)
        .expect("memory takes it");
    vec![bytes]
}

fn bytes_of(numbers: &[f64]) -> Vec<u8> {
    numbers
        .iter()
        .flat_map(|number| number.to_le_bytes())
        .collect()
}

fn numbers(bytes: &[u8]) -> Vec<f64> {
    let (eights, _) = bytes.as_chunks::<8>();
    eights
        .iter()
        .map(|eight| f64::from_le_bytes(*eight))
        .collect()
}

fn places() -> Vec<Vec<u8>> {
    vec![
        bytes_of(&[10.0, 50.0, 10.001, 50.001, 10.002, 50.0, 10.0, 50.0]),
        bytes_of(&[179.9999, -17.0, -179.9999, -17.0, 179.9998, -17.001]),
        bytes_of(&[0.0, 89.9999, 90.0, 89.9999, -90.0, 89.9999]),
        bytes_of(&[5.0; 12]),
    ]
}

fn curves() -> Vec<Vec<u8>> {
    vec![bytes_of(&[45.0, 0.4, 30.0, 60.0, 1.0, 0.01, 0.0, 1e300])]
}

fn sections() -> Vec<Vec<u8>> {
    vec![bytes_of(&[
        300.0,
        20.0,
        60.0,
        300.0,
        0.0,
        f64::NAN,
        250.0,
        125.0,
        0.0,
    ])]
}

fn points() -> Vec<Vec<u8>> {
    vec![bytes_of(&[
        32632.0,
        500_000.0,
        5_500_000.0,
        3857.0,
        1e6,
        6e6,
        27700.0,
        4e5,
        3e5,
        2193.0,
        1.6e6,
        5.4e6,
    ])]
}

/// What is put where it does not belong.
const TOKENS: [&str; 48] = [
    "\"",
    ",",
    ";",
    "\n",
    "\r",
    "\t",
    "|",
    "'",
    "\0",
    "\u{feff}",
    "\u{fc}",
    "\u{1f332}",
    "{",
    "}",
    "[",
    "]",
    ":",
    "=",
    "NaN",
    "inf",
    "1e999",
    "-1",
    "-0",
    "0",
    "1e-320",
    "255",
    "65536",
    "4294967296",
    "9223372036854775808",
    "0.5",
    "true",
    "null",
    "\"type\":",
    "\"coordinates\":[",
    "[[poles]]\n",
    "[[rule]]\n",
    "9999-12-31",
    "0000-00-00",
    "29/02/1900",
    "</c>",
    "<c r=\"XFD1048577\">",
    "r=\"A0\"",
    "t=\"s\"",
    "<v>-1</v>",
    "<mergeCell ref=\"A1:XFD9\"/>",
    "&amp;",
    "&#x0;",
    "uniqueCount=\"99999999\"",
];

/// Numbers at the edges of what a number can be.
const EDGES: [f64; 16] = [
    0.0,
    -0.0,
    1.0,
    -1.0,
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN,
    f64::MIN_POSITIVE,
    f64::EPSILON,
    5e-324,
    180.0,
    -180.0,
    90.0,
    1e16,
];

/// Bytes with one to six wounds.
fn worsened(chance: &mut Stream, seed: &[u8]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..chance.random_range(1..7) {
        wound(chance, &mut bytes);
    }
    bytes
}

fn wound(chance: &mut Stream, bytes: &mut Vec<u8>) {
    let at = chance.random_range(0..=bytes.len());
    let end = (at + chance.random_range(0..40_usize)).min(bytes.len());
    match chance.random_range(0..9) {
        0 if at < bytes.len() => bytes[at] ^= 1 << chance.random_range(0..8),
        1 if at < bytes.len() => bytes[at] = chance.random_range(0..=255_u32) as u8,
        2 => drop(bytes.drain(at..end)),
        3 => {
            let copy = bytes[at..end].to_vec();
            let times = chance.random_range(1..30);
            let to = chance.random_range(0..=bytes.len());
            bytes.splice(to..to, copy.repeat(times));
        }
        4 if chance.random_bool(0.2) => bytes.truncate(at),
        5 => replace_a_number(chance, bytes, at),
        _ => {
            let token = TOKENS[chance.random_range(0..TOKENS.len())];
            bytes.splice(at..at, token.bytes());
        }
    }
}

/// Another number where the next one stands.
fn replace_a_number(chance: &mut Stream, bytes: &mut Vec<u8>, from: usize) {
    let Some(start) = bytes[from..]
        .iter()
        .position(u8::is_ascii_digit)
        .map(|skip| from + skip)
    else {
        return;
    };
    let length = bytes[start..]
        .iter()
        .take_while(|byte| byte.is_ascii_digit() || **byte == b'.')
        .count();
    let other = match chance.random_range(0..4) {
        0 => "0".to_owned(),
        1 => chance.random_range(0..100_000_u32).to_string(),
        2 => format!("{:e}", 10_f64.powi(chance.random_range(-30..30))),
        _ => format!("-{}", chance.random_range(0..1_000_u32)),
    };
    bytes.splice(start..start + length, other.into_bytes());
}

/// An archive with one of its parts made worse, or its own bytes.
fn worsened_archive(chance: &mut Stream, seed: &[u8]) -> Vec<u8> {
    if chance.random_bool(0.2) {
        return worsened(chance, seed);
    }
    let mut archive = zip::ZipArchive::new(Cursor::new(seed)).expect("a seed is whole");
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    let chosen = chance.random_range(0..archive.len());
    for place in 0..archive.len() {
        let mut part = archive.by_index(place).expect("a seed is whole");
        let name = part.name().expect("a name").into_owned();
        let mut bytes = Vec::new();
        part.read_to_end(&mut bytes).expect("a seed is whole");
        // The sheet is where most of the reading is.
        if place == chosen || (name.contains("sheet1") && chance.random_bool(0.5)) {
            bytes = worsened(chance, &bytes);
        }
        out.start_file(name, options).expect("memory takes it");
        out.write_all(&bytes).expect("memory takes it");
    }
    out.finish().expect("memory takes it").into_inner()
}

/// Numbers, some of them at the edge, some more, some fewer.
fn worsened_numbers(chance: &mut Stream, seed: &[u8]) -> Vec<u8> {
    let mut all = numbers(seed);
    for _ in 0..chance.random_range(1..8) {
        let at = chance.random_range(0..all.len());
        match chance.random_range(0..5) {
            0 => all[at] = EDGES[chance.random_range(0..EDGES.len())],
            1 => all[at] *= 10_f64.powi(chance.random_range(-12..12)),
            2 => all[at] = f64::from_bits(chance.random_range(0..=u64::MAX)),
            3 => all.push(all[at]),
            _ => all[at] += chance.random_range(-1.0..1.0),
        }
    }
    bytes_of(&all)
}
