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
}

impl Projection {
    /// The projection with this EPSG code.
    ///
    /// # Errors
    /// When the code is unknown, or is of a kind that cannot be converted exactly enough.
    pub fn of(code: u32) -> Result<Self, Refused> {
        let text = u16::try_from(code)
            .ok()
            .and_then(crs_definitions::from_code)
            .ok_or(Refused::Unknown)?
            .proj4;
        // "@null" is the name of no shift at all, by which Web Mercator says that its sphere is only for show.
        let grids = text.contains("nadgrids=") && !text.contains("nadgrids=@null");
        if grids || text.contains("datum=NAD27") {
            return Err(Refused::NeedsGrid);
        }
        let built = |text| Proj::from_proj_string(text).map_err(|_| Refused::NotBuiltIn);
        Ok(Self {
            from: built(text)?,
            degrees: built(WGS_84)?,
        })
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

/// The codes that put a point within `metres` of `near`, the likeliest first: those of WGS 84 and Web Mercator, then of
/// the datums that hardly differ from it, then the others; in each the nearest kilometre first, then by code.
pub fn candidates_near(x: f64, y: f64, near: Place, metres: f64) -> Vec<Candidate> {
    let mut found: Vec<(u8, u64, Candidate)> = CODES
        .filter_map(|code| {
            let text = crs_definitions::from_code(code)?.proj4;
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
            (far <= metres).then_some((class, (far / 1000.0) as u64, found))
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
