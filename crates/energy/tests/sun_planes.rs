//! What must hold of any plane: shade takes, headings even out, an array raised by hand follows the seasons of its half of
//! the Earth, heat costs. Sources: plane geometry and the formulas that the functions name.
//! Never: compares with a value of our own.
//! Start at any test.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

use energy::site::{HOURS, MONTHS, Site, month_of_hour};
use energy::sun::{
    CellModel, Facing, LowLight, ModuleModel, Plane, PlaneYear, RoofObject, SkyModel, SunYear, clear_sky,
    decompose,
};
use energy::weather::WeatherYear;
use model::Mounting;
use proptest::prelude::*;
use quantity::{Degrees, Fraction, Metres};

fn sun_at(latitude: f64) -> SunYear {
    let site = Site::new(Degrees::new(latitude), Degrees::new(8.0), Metres::new(250.0));
    SunYear::new(&site, 2023, 30.0)
}

/// Clear and dull days in turn.
fn weather(sun: &SunYear) -> WeatherYear {
    let clear = clear_sky(sun, &[3.0; MONTHS]);
    let mut weather = WeatherYear::blank();
    for &hour in &sun.day_hours {
        let ghi = clear.ghi_w_m2[hour] * [1.0, 0.3, 0.7, 0.9, 0.5][hour / 24 % 5];
        weather.ghi_w_m2[hour] = ghi;
        (weather.dni_w_m2[hour], weather.dhi_w_m2[hour]) =
            decompose(ghi, sun.cos_zenith[hour], sun.extra_w_m2[hour]);
    }
    weather.air_c.fill(20.0);
    weather.wind_m_s.fill(1.0);
    weather
}

fn light(sun: &SunYear, plane: &Plane, weather: &WeatherYear) -> Vec<f64> {
    let mut out = vec![f64::NAN; HOURS];
    PlaneYear::new(sun, plane).irradiance(weather, &mut out);
    assert!(out.iter().all(|light| light.is_finite() && *light >= 0.0));
    out
}

fn year(light: &[f64]) -> f64 {
    light.iter().sum()
}

fn south(tilt: f64) -> Plane {
    Plane::tilted(Degrees::new(tilt), Facing::Fixed(Degrees::new(180.0)))
}

#[test]
fn a_wall_in_the_east_takes_the_morning_and_leaves_the_afternoon_its_sun() {
    let sun = sun_at(45.0);
    let weather = weather(&sun);
    // Points every 30°: 60° and 90° and 120° are walled.
    let wall = [0.0, 0.0, 60.0, 60.0, 60.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let open = south(20.0);
    let walled = Plane { horizon: wall.map(Degrees::new).to_vec(), ..open.clone() };
    let (free, shut) = (light(&sun, &open, &weather), light(&sun, &walled, &weather));
    let part = |list: &[f64], from: usize, to: usize| -> f64 {
        list.iter()
            .enumerate()
            .filter(|(hour, _)| (from..to).contains(&(hour % 24)))
            .map(|(_, light)| light)
            .sum()
    };
    assert!(part(&shut, 4, 9) < 0.6 * part(&free, 4, 9));
    // Of the afternoon it takes its share of diffuse light: cos² 60° is left of three of twelve directions, 19 %.
    let kept = part(&shut, 13, 20) / part(&free, 13, 20);
    assert!((0.81..0.99).contains(&kept), "{kept}");
    let pit = Plane { horizon: vec![Degrees::new(90.0); 4], ..Plane::flat(Facing::Averaged) };
    assert!(year(&light(&sun, &pit, &weather)) < 1e-6 * year(&free));
}

#[test]
fn a_fan_takes_direct_light_while_its_shadow_falls() {
    let sun = sun_at(45.0);
    let weather = weather(&sun);
    let free = light(&sun, &south(0.0), &weather);
    let fan = RoofObject::fan(Degrees::new(180.0), Metres::new(0.5));
    let shaded = light(&sun, &south(0.0).with(fan), &weather);
    // Its top stands at atan(0.12 / 0.5) = 13.5°, its sides at ±21.8°: only a low sun in the south throws its shadow.
    let sweep = 10.0;
    for hour in 0..HOURS {
        let is_low = 90.0 - sun.apparent_zenith_deg[hour] < 13.5;
        let off = (sun.azimuth_deg[hour] - 180.0).abs();
        assert!(shaded[hour] <= free[hour]);
        assert!(shaded[hour] >= (1.0 - 0.33) * free[hour] - 1e-9);
        if !is_low || off > 21.8 + sweep {
            assert_eq!(shaded[hour], free[hour], "hour {hour}");
        }
    }
    // At 60° north a winter's noon is that low.
    let north = sun_at(60.0);
    let dark = self::weather(&north);
    let lost = year(&light(&north, &south(0.0).with(fan), &dark)) / year(&light(&north, &south(0.0), &dark));
    assert!(lost < 0.9999, "{lost}");
    // Any way round, it is in the way for a part of the headings.
    let averaged = Plane::flat(Facing::Averaged);
    let (clear, hidden) =
        (light(&sun, &averaged, &weather), light(&sun, &averaged.clone().with(fan), &weather));
    assert!(year(&hidden) < year(&clear) && year(&hidden) > 0.9 * year(&clear));
}

#[test]
fn an_array_raised_by_hand_stands_in_winter_and_lies_in_summer() {
    for (latitude, winter, summer) in [(45.0, 11, 5), (-45.0, 5, 11)] {
        let sun = sun_at(latitude);
        let weather = weather(&sun);
        for facing in
            [Facing::Averaged, Facing::Fixed(Degrees::new(if latitude > 0.0 { 180.0 } else { 0.0 }))]
        {
            let by_hand = Plane { mounting: Mounting::Tiltable, ..Plane::tilted(Degrees::new(45.0), facing) };
            let raised = PlaneYear::new(&sun, &by_hand).is_raised();
            assert!(raised[winter] && !raised[summer], "{latitude}: {raised:?}");
            let flat = Plane { tilt: Degrees::zero(), ..by_hand.clone() };
            let (moved, lying) = (light(&sun, &by_hand, &weather), light(&sun, &flat, &weather));
            assert!(year(&moved) > 1.03 * year(&lying));
            for hour in 0..HOURS {
                assert!(raised[month_of_hour(hour)] || moved[hour] == lying[hour]);
            }
        }
    }
}

#[test]
fn heat_low_light_and_mismatch_cost_what_they_say() {
    let model = |cell, mismatch| ModuleModel::new(400.0, -0.0035, mismatch, cell, LowLight::silicon());
    let at = |cell, mismatch| model(cell, mismatch).power_w(1000.0, 1000.0, 25.0, 1.0);
    // King's table at 1 m/s and 1000 W/m²: 57.53 K over the air flush, 29.38 K on an open rack (SAND2004-3535).
    assert!((at(CellModel::flush(), 0.0) - 400.0 * (1.0 - 0.0035 * 57.527)).abs() < 0.1);
    assert!((at(CellModel::open_rack(), 0.0) - 400.0 * (1.0 - 0.0035 * 29.384)).abs() < 0.1);
    assert!((at(CellModel::flush(), 0.02) / at(CellModel::flush(), 0.0) - 0.98).abs() < 1e-12);
    // Chatzipanagi et al. (2025): at 200 W/m², ln 0.2 = -1.6094: 1 + 0.010874 - 0.042594.
    assert!((LowLight::silicon().efficiency(200.0) - 0.96828).abs() < 1e-4);
    let dim = model(CellModel::flush(), 0.0).power_w(0.0, 200.0, 25.0, 0.0);
    assert!((dim - 80.0 * 0.96828).abs() < 0.01, "{dim}");
}

#[test]
fn a_polar_night_gives_nothing_and_a_polar_day_never_ends() {
    let sun = sun_at(80.0);
    let out = light(&sun, &south(60.0), &weather(&sun));
    assert!(out.iter().enumerate().all(|(hour, light)| month_of_hour(hour) != 11 || *light == 0.0));
    assert!((0..HOURS).filter(|hour| month_of_hour(*hour) == 5).all(|hour| sun.is_day(hour)));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_plane_anywhere_gets_a_sane_amount(
        latitude in -90.0..=90.0_f64, tilt in 0.0..=90.0_f64, azimuth in 0.0..360.0_f64,
        way in 0..3_usize, sky in 0..3_usize, mounting in 0..3_usize,
        horizon in prop::collection::vec(0.0..40.0_f64, 0..9), direction in 0.0..360.0_f64, share in 0.0..=1.0_f64,
    ) {
        let sun = sun_at(latitude);
        let weather = weather(&sun);
        let facing = if way == 0 { Facing::Averaged } else { Facing::Fixed(Degrees::new(azimuth)) };
        let object = RoofObject { share: Fraction::new(share), ..RoofObject::fan(Degrees::new(direction), Metres::new(0.3)) };
        let bare = Plane {
            sky: [SkyModel::Isotropic, SkyModel::HayDavies, SkyModel::Perez][sky],
            mounting: [Mounting::Flush, Mounting::Fixed, Mounting::Tiltable][mounting],
            ..Plane::tilted(Degrees::new(tilt), facing)
        };
        let full = Plane { horizon: horizon.into_iter().map(Degrees::new).collect(), ..bare.clone() }.with(object);
        let (open, shut) = (light(&sun, &bare, &weather), light(&sun, &full, &weather));
        // An array raised by hand may choose another month's stand where shade falls, so it is compared by year.
        prop_assert!(year(&shut) <= year(&open) * (1.0 + 1e-9) || mounting == 2);
        if mounting != 2 {
            for hour in 0..HOURS {
                prop_assert!(shut[hour] <= open[hour] + 1e-9, "hour {hour}: {} over {}", shut[hour], open[hour]);
            }
        }
        prop_assert!(open.iter().all(|light| *light < 1600.0));
    }
}
