//! How the project is used over the year: seasons, driving, shore power, generator, sky.
//! Never: computes energy; the energy study does, from this and the graph.
//! Start at [`usage`].

use model::{ClockTime, Craft, EngineUse, Place, Season, SupplyUse, Usage};
use quantity::{Degrees, Fraction, HoursPerDay};

use crate::builder::Builder;
use crate::charge::Charging;
use crate::settings::Settings;

/// Gathers it, with an assumption for what was not said and matters.
pub fn usage(
    builder: &mut Builder<'_>,
    settings: &Settings,
    inverter_hours: HoursPerDay,
    charging: &Charging,
) -> Usage {
    let intent = &builder.project.intent;
    let brief = &intent.brief;
    let place = brief.place.clone().unwrap_or_else(|| Place {
        latitude: settings.latitude,
        longitude: Degrees::zero(),
        altitude: None,
    });
    if brief.place.is_none() {
        builder.assume(
            "brief.place.longitude",
            "0 E".to_owned(),
            None,
            "the weather of that meridian is used; say where it is used most",
            false,
        );
    }
    let calendar = intent.calendar.as_ref();
    let weather = intent.weather.as_ref();
    let running_out = builder.given(
        "brief.running_out",
        brief.running_out,
        Fraction::new(0.10),
        Some((Fraction::new(0.01), Fraction::new(0.5))),
        "a year in ten with a dark evening is put up with; common practice, no source",
        false,
    );
    Usage {
        place,
        season: brief.season.unwrap_or(Season::AllYear),
        used: calendar.map_or_else(Vec::new, |calendar| calendar.used.clone()),
        days_per_week: calendar.and_then(|calendar| calendar.days_per_week).unwrap_or(7),
        engine: engine(builder, charging),
        supply: supply(builder),
        inverter_hours,
        weather_file: weather.and_then(|weather| weather.file.clone()),
        horizon: weather.map_or_else(Vec::new, |weather| weather.horizon.clone()),
        // Grass and bare ground; Liu and Jordan 1963 took 0.2 for ground without snow.
        ground: weather.and_then(|weather| weather.ground).unwrap_or(Fraction::new(0.2)),
        running_out: running_out.value,
        bank_years: brief.bank_years.unwrap_or(if brief.craft == Craft::Hut { 10 } else { 8 }),
    }
}

fn engine(builder: &mut Builder<'_>, charging: &Charging) -> Option<EngineUse> {
    charging.engine.as_ref()?;
    let engine = builder.project.intent.engine.as_ref()?;
    let every = if charging.driving > HoursPerDay::zero() {
        let usual = Some((1.to_string(), 7.to_string()));
        engine.drive_every.unwrap_or_else(|| {
            builder.assume(
                "engine.drive_every",
                2.to_string(),
                usual,
                "a longer drive every other day is usual; common practice, no source",
                false,
            );
            2
        })
    } else {
        1
    };
    Some(EngineUse {
        spare: charging.engine_spare,
        driving: charging.driving,
        every,
        from: engine.drive_from.unwrap_or(ClockTime::from_minutes(10 * 60)),
    })
}

fn supply(builder: &Builder<'_>) -> SupplyUse {
    let intent = &builder.project.intent;
    let (shore, generator) = (intent.shore.as_ref(), intent.generator.as_ref());
    let clock = |minutes| ClockTime::from_minutes(minutes);
    SupplyUse {
        shore: shore.and_then(|shore| shore.hours).unwrap_or(HoursPerDay::zero()),
        shore_every: shore.and_then(|shore| shore.every).unwrap_or(1),
        // One plugs in in the evening; common practice, no source.
        shore_from: shore.and_then(|shore| shore.from).unwrap_or(clock(18 * 60)),
        generator: generator
            .map_or(HoursPerDay::zero(), |generator| generator.hours.unwrap_or(HoursPerDay::new(3.0))),
        generator_start: generator.and_then(|generator| generator.start_below),
        generator_stop: generator.and_then(|generator| generator.stop_above),
        // Quiet hours of camp sites and moorings; common practice, no source.
        generator_from: generator.and_then(|generator| generator.from).unwrap_or(clock(8 * 60)),
        generator_until: generator.and_then(|generator| generator.until).unwrap_or(clock(20 * 60)),
    }
}
