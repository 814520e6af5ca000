//! Coordinates of a map projection to degrees, by EPSG code.
//!
//! The only file that names `proj4rs` and `crs_definitions`. The definitions are those of the EPSG Geodetic Parameter
//! Dataset (IOGP) as PROJ's parameter texts; the formulae are PROJ's. Datums are shifted by their published Helmert
//! parameters, which are good to some metres; North American Datum 1983 and its kin are taken as WGS 84 (off by a metre
//! or two). Definitions that need shift grids are refused, not approximated. Knows nothing of poles, files or lines.

use crate::pole::Place;
use crate::space::distance;
use proj4rs::Proj;
use proj4rs::transform::transform;

/// Degrees are kept to this many of their parts: a tenth of a millimetre. Coarser than the last digits in which sines
/// differ from machine to machine, and finer than any survey of poles.
const PARTS_OF_A_DEGREE: f64 = 1e9;
/// A point that does not come back to itself within this (in the projection's unit) lies where the projection has no
/// inverse. Two rounds of PROJ's formulae lose less than a millimetre; a metre is far from both.
const COMES_BACK_WITHIN: f64 = 1.0;
/// Half the width of a zone of the Universal Transverse Mercator projection, degrees.
const HALF_A_ZONE: f64 = 3.0;
/// A zone is used for a network that reaches into the next one: so far beyond its edge, degrees (judgement).
const BEYOND_A_ZONE: f64 = 2.0;
/// A grid of its own on a transverse Mercator projection is used so far from its central meridian, degrees (judgement:
/// the widest national grids reach a little over 9, where scale is off by 1 %).
const WIDEST_GRID: f64 = 10.0;
/// A grid whose origin lies in or near its own country is used so far north and south of it, degrees (judgement: the
/// tallest reach 17 from their origin). An origin on the equator tells nothing of the country.
const TALLEST_GRID: f64 = 20.0;
/// Countries that stretch one zone over all of their land and give it a name of their own: SWEREF99 TM, ETRS-TM35FIN.
const STRETCHED_ZONES: [u16; 2] = [3006, 3067];
/// Zones of the Universal Transverse Mercator projection end at these latitudes, degrees.
const ZONES_END: [f64; 2] = [-80.0, 84.0];
/// Northings of one half of the earth are carried a little over the equator, degrees (judgement).
const OVER_THE_EQUATOR: f64 = 2.0;
/// A projection with standard parallels is used so far beyond them: degrees, and a share of their distance (judgement:
/// statewide and continental definitions reach two thirds of that distance beyond either).
const BEYOND_PARALLELS: (f64, f64) = (3.0, 0.75);
/// EPSG codes are looked through up to the last projected one.
const CODES: std::ops::RangeInclusive<u16> = 2000..=32_767;
const WGS_84: &str = "+proj=longlat +datum=WGS84 +no_defs";

/// Why there is no projection for a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// The code is not in the table.
    Unknown,
    /// The datum needs a grid of shifts that is not built in.
    NeedsGrid,
    /// The kind of projection is not built in.
    NotBuiltIn,
}

impl Refused {
    /// What is wrong, as the end of a sentence that begins with the code.
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Unknown => "is not in the table of EPSG codes",
            Self::NeedsGrid => "has a datum that only a grid of shifts turns into WGS 84",
            Self::NotBuiltIn => "is a kind of projection that is not built in",
        }
    }
}

/// A projection and its way to WGS 84.
#[derive(Debug)]
pub struct Projection {
    from: Proj,
    degrees: Proj,
    used: Used,
}

/// Where a projection is plausibly used, from its own parameters: the table of definitions has no areas of use. A check
/// of plausibility alone, wide enough for the grids of whole countries; kinds of projection that tell nothing of where
/// they are used have no limits.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Used {
    /// Central meridian, and how far from it.
    meridian: Option<(f64, f64)>,
    /// Least and greatest latitude.
    latitudes: Option<[f64; 2]>,
}

impl Used {
    fn of(definition: &crs_definitions::Def) -> Self {
        let text = definition.proj4;
        let value = |key: &str| {
            let mut words = text.split_whitespace();
            let found = words.find_map(|word| word.strip_prefix(key)?.strip_prefix('='));
            found.and_then(|number| number.parse::<f64>().ok())
        };
        match text
            .split_whitespace()
            .find_map(|word| word.strip_prefix("+proj="))
        {
            Some("utm") => {
                let [south, north] = ZONES_END;
                let southern = text.contains("+south");
                let width = if STRETCHED_ZONES.contains(&definition.code) {
                    WIDEST_GRID
                } else {
                    HALF_A_ZONE + BEYOND_A_ZONE
                };
                Self {
                    meridian: value("+zone").map(|zone| (6.0 * zone - 183.0, width)),
                    latitudes: Some(if southern {
                        [south, OVER_THE_EQUATOR]
                    } else {
                        [-OVER_THE_EQUATOR, north]
                    }),
                }
            }
            Some("tmerc" | "etmerc") => Self {
                meridian: value("+lon_0").map(|meridian| (meridian, WIDEST_GRID)),
                latitudes: Some(
                    value("+lat_0")
                        .filter(|origin| *origin != 0.0)
                        .map_or(ZONES_END, |origin| {
                            [origin - TALLEST_GRID, origin + TALLEST_GRID]
                        }),
                ),
            },
            Some("lcc" | "aea") => {
                let between = |first: f64| {
                    let second = value("+lat_2").unwrap_or(first);
                    let (degrees, share) = BEYOND_PARALLELS;
                    let beyond = degrees + share * (first - second).abs();
                    [first.min(second) - beyond, first.max(second) + beyond]
                };
                Self {
                    meridian: None,
                    latitudes: value("+lat_1").map(between),
                }
            }
            _ => Self::default(),
        }
    }

    fn strays(&self, place: Place) -> Option<String> {
        let east = |degrees: f64| (degrees + 540.0).rem_euclid(360.0) - 180.0;
        let far = |(meridian, width): &(f64, f64)| east(place.longitude - meridian).abs() > *width;
        if let Some((meridian, width)) = self.meridian.filter(far) {
            let ends = [east(meridian - width), east(meridian + width)];
            return Some(format!(
                "is used between longitudes {:.1} and {:.1}",
                ends[0], ends[1]
            ));
        }
        let outside = |ends: &[f64; 2]| !(ends[0]..=ends[1]).contains(&place.latitude);
        let [south, north] = self.latitudes.filter(outside)?;
        Some(format!(
            "is used between latitudes {south:.1} and {north:.1}"
        ))
    }
}

impl Projection {
    /// The projection with this EPSG code.
    ///
    /// # Errors
    /// When the code is unknown, or is of a kind that cannot be converted exactly enough.
    pub fn of(code: u32) -> Result<Self, Refused> {
        let definition = u16::try_from(code)
            .ok()
            .and_then(crs_definitions::from_code)
            .ok_or(Refused::Unknown)?;
        let text = definition.proj4;
        // "@null" is the name of no shift at all, by which Web Mercator says that its sphere is only for show.
        let grids = text.contains("nadgrids=") && !text.contains("nadgrids=@null");
        if grids || text.contains("datum=NAD27") {
            return Err(Refused::NeedsGrid);
        }
        let built = |text| Proj::from_proj_string(text).map_err(|_| Refused::NotBuiltIn);
        Ok(Self {
            from: built(text)?,
            degrees: built(WGS_84)?,
            used: Used::of(&definition),
        })
    }

    /// Why a place cannot plausibly be meant by this code, as the end of a sentence that begins with it; `None` for a
    /// place where it is used.
    pub fn strays(&self, place: Place) -> Option<String> {
        self.used.strays(place)
    }

    /// The place of a point, in the unit of the projection (metres, feet or US survey feet; degrees where the code is of
    /// longitudes and latitudes). `None` where the projection has no such point.
    pub fn place(&self, x: f64, y: f64) -> Option<Place> {
        let degrees = self.from.is_latlong();
        let mut at = if degrees {
            (x.to_radians(), y.to_radians(), 0.0)
        } else {
            (x, y, 0.0)
        };
        let before = at;
        transform(&self.from, &self.degrees, &mut at).ok()?;
        let mut back = at;
        transform(&self.degrees, &self.from, &mut back).ok()?;
        let off = (back.0 - before.0).abs().max((back.1 - before.1).abs());
        let rounded =
            |radians: f64| (radians.to_degrees() * PARTS_OF_A_DEGREE).round() / PARTS_OF_A_DEGREE;
        let place = Place {
            longitude: rounded(at.0),
            latitude: rounded(at.1),
        };
        let on_earth = place.longitude.abs() <= 180.0 && place.latitude.abs() <= 90.0;
        (on_earth && off * self.from.to_meter() <= COMES_BACK_WITHIN).then_some(place)
    }
}

/// A code and where it would put a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// EPSG code.
    pub code: u32,
    /// Where the point would be.
    pub place: Place,
}

/// Where one code would put a point.
pub fn candidate(code: u32, x: f64, y: f64) -> Option<Candidate> {
    let place = Projection::of(code).ok()?.place(x, y)?;
    Some(Candidate { code, place })
}

/// The codes that put a point within `metres` of `near` and are used there, the likeliest first: those of WGS 84 and Web
/// Mercator, then of the datums that hardly differ from it, then the others; in each the nearest kilometre first, then
/// by code.
pub fn candidates_near(x: f64, y: f64, near: Place, metres: f64) -> Vec<Candidate> {
    let mut found: Vec<(u8, u64, Candidate)> = CODES
        .filter_map(|code| {
            let definition = crs_definitions::from_code(code)?;
            let text = definition.proj4;
            if text.starts_with("+proj=longlat") || text.starts_with("+proj=geocent") {
                return None;
            }
            let found = candidate(u32::from(code), x, y)?;
            let far = distance(near, found.place);
            let class = match code {
                3857 | 32_601..=32_760 => 0,
                _ if text.contains("datum=NAD83") || text.contains("+ellps=GRS80") => 1,
                _ => 2,
            };
            let used = Used::of(&definition).strays(found.place).is_none();
            (far <= metres && used).then_some((class, (far / 1000.0) as u64, found))
        })
        .collect();
    found.sort_by_key(|(class, far, found)| (*class, *far, found.code));
    found.into_iter().map(|(_, _, found)| found).collect()
}

#[cfg(test)]
mod tests {
    use super::{Projection, Refused, candidates_near};
    use crate::pole::Place;
    use crate::space::geodesic_distance;

    /// References are given to 1e-9 degrees, about 0.1 mm; conversions must be good to a centimetre.
    const CENTIMETRE: f64 = 0.01;

    fn off_by(code: u32, x: f64, y: f64, longitude: f64, latitude: f64) -> f64 {
        let there = Projection::of(code)
            .expect("a code")
            .place(x, y)
            .expect("a place");
        geodesic_distance(
            there,
            Place {
                longitude,
                latitude,
            },
        )
    }

    #[test]
    fn web_mercator_gives_back_a_citys_own_degrees() {
        // Points of a city's register with both kinds of coordinates; geographiclib and pyproj (PROJ 9.5.1) agree.
        for (x, y, longitude, latitude) in [
            (
                -9_824_847.807_670_25,
                4_887_225.981_891_52,
                -88.258_109_498,
                40.146_306_55,
            ),
            (
                -9_822_795.296_929_06,
                4_882_735.315_326_18,
                -88.239_671_48,
                40.115_463_37,
            ),
            (
                -9_824_132.081_537_68,
                4_882_409.303_218_99,
                -88.251_680_021,
                40.113_223_68,
            ),
            (
                -9_822_294.881_303_67,
                4_884_131.441_406_38,
                -88.235_176_17,
                40.125_053_862,
            ),
            (
                -9_825_764.495_726_1,
                4_885_601.175_440_05,
                -88.266_344_247,
                40.135_148_531,
            ),
        ] {
            let off = off_by(3857, x, y, longitude, latitude);
            assert!(off < CENTIMETRE, "{x} {y}: {off} m");
        }
    }

    #[test]
    fn metres_and_survey_feet_are_what_their_definitions_say() {
        // On the central meridian of UTM zone 17 (81 W) and the equator: easting 500 km, northing 0 (by definition).
        assert!(off_by(26917, 500_000.0, 0.0, -81.0, 0.0) < CENTIMETRE);
        // The example of IOGP Guidance Note 7-2 for transverse Mercator, British National Grid, gives 50 30' N, 0 30' E
        // on its own datum; its shift to WGS 84 is about a hundred metres, so only that much is asked for.
        assert!(off_by(27700, 577_274.99, 69_740.50, 0.5, 50.5) < 150.0);
        // Illinois East: the origin is 36 40' N, 88 20' W at 300 km of easting, in US survey feet of 1200/3937 m.
        let feet = 300_000.0 * 3937.0 / 1200.0;
        assert!(off_by(3435, feet, 0.0, -88.0 - 1.0 / 3.0, 36.0 + 2.0 / 3.0) < CENTIMETRE);
        // In international feet it would be 0.6 m away: the two are told apart.
        assert!(
            off_by(
                3435,
                300_000.0 / 0.3048,
                0.0,
                -88.0 - 1.0 / 3.0,
                36.0 + 2.0 / 3.0
            ) > 0.5
        );
        // Degrees of WGS 84 stay what they are.
        assert!(off_by(4326, 11.5, 50.2, 11.5, 50.2) < CENTIMETRE);
    }

    #[test]
    fn a_zone_is_used_near_its_meridian_and_a_grid_near_its_parallels() {
        let strays = |code, longitude, latitude| {
            let projection = Projection::of(code).expect("a code");
            projection.strays(Place {
                longitude,
                latitude,
            })
        };
        // UTM zone 33 north: 12 to 18 E by definition; a network on the edge may reach into the next zone.
        for (longitude, latitude) in [(15.0, 50.0), (18.0, 50.0), (19.5, 50.0), (12.0, 0.0)] {
            assert_eq!(strays(32_633, longitude, latitude), None, "{longitude}");
        }
        assert!(strays(32_633, 21.0, 50.0).is_some_and(|told| told.contains("10.0 and 20.0")));
        assert!(strays(32_633, 15.0, -33.9).is_some());
        // The grid of Great Britain begins at 49 N; its northernmost islands lie at 61 N.
        assert_eq!(strays(27_700, -1.0, 61.0), None);
        assert!(strays(27_700, 7.5, 84.57).is_some_and(|told| told.contains("latitudes")));
        assert!(strays(32_733, 15.0, -33.9).is_none());
        // Across the date line: zone 1 has its meridian at 177 W.
        assert_eq!(strays(32_601, 179.0, 10.0), None);
        // Grids of whole countries, at their published areas of use (EPSG Geodetic Parameter Dataset, IOGP, from
        // memory): Great Britain 7.6 W to 1.8 E; France 41.2 to 51.6 N; conterminous United States 24.4 to 49.4 N.
        for (code, longitude, latitude) in [
            (27_700, -7.6, 57.0),
            (27_700, 1.8, 52.5),
            (2154, 9.0, 41.2),
            (2154, 2.0, 51.6),
            (5070, -81.0, 24.4),
            (5070, -95.0, 49.4),
            // Sweden in its own name for UTM zone 33: 10.0 to 24.2 E.
            (3006, 10.0, 57.0),
            (3006, 24.2, 65.8),
        ] {
            assert_eq!(strays(code, longitude, latitude), None, "{code}");
        }
        assert!(strays(2154, 2.0, 20.0).is_some());
        // Nothing is known of where a projection without a meridian of its own or parallels is used.
        assert_eq!(strays(3857, 170.0, -45.0), None);
        assert_eq!(strays(4326, 170.0, -45.0), None);
    }

    #[test]
    fn what_cannot_be_converted_is_refused() {
        assert_eq!(Projection::of(1).err(), Some(Refused::Unknown));
        assert_eq!(Projection::of(99_999).err(), Some(Refused::Unknown));
        // NAD27 / UTM zone 17N.
        assert_eq!(Projection::of(26717).err(), Some(Refused::NeedsGrid));
        let mercator = Projection::of(3857).expect("a code");
        assert_eq!(mercator.place(f64::NAN, 0.0), None);
        assert_eq!(mercator.place(1e9, 0.0), None);
    }

    #[test]
    fn candidates_put_the_point_where_it_must_be() {
        let near = Place {
            longitude: -88.25,
            latitude: 40.12,
        };
        let found = candidates_near(-9_824_847.807_670_25, 4_887_225.981_891_52, near, 50_000.0);
        assert_eq!(found.first().map(|found| found.code), Some(3857));
        // The same pole in UTM zone 16: 87 W in the middle. Zones of WGS 84 come first, then those of NAD83.
        let found = candidates_near(393_000.0, 4_444_800.0, near, 50_000.0);
        let codes: Vec<u32> = found.iter().map(|found| found.code).collect();
        assert_eq!(codes.first(), Some(&32_616));
        assert!(codes.contains(&26_916), "{codes:?}");
    }
}
