//! What intent.toml says of sky, shade and calendar reaches the hours.

use energy::{Plant, Scratch, Sky, Year, typical_year};
use model::{Project, SourceText};

fn year(craft: &str, rest: &str) -> Year {
    let text = format!(
        "brief = {{ name = \"t\", craft = \"{craft}\", rules = \"iec\", voltage = \"12 V\", \
         place = {{ latitude = \"48 N\", longitude = \"11 E\", altitude = \"500 m\" }} }}\n\
         bank = {{ chemistry = \"lfp\", capacity = \"100 Ah\" }}\n\
         loads.fridge = {{ part = \"fridge-65l\", length = \"2 m\" }}\n{rest}"
    );
    let source = SourceText { name: "test".to_owned(), text };
    let project = Project::read(source, model::library::builtin().clone()).expect("the project reads");
    let system = derive::derive(&project);
    let plant = Plant::of(&system).expect("a bank");
    typical_year(&plant, &Sky::of(&system, &plant, None), 1)
}

/// What the array could have brought [Wh], in the months from one to another.
fn sun(year: &Year, months: std::ops::RangeInclusive<usize>) -> f64 {
    year.months[months].iter().map(|month| month.books.sun_wh + month.books.curtailed_wh).sum()
}

const ROOF: &str = "[solar.roof]\nmodule = \"module-200w\"\ncount = 2\n";

#[test]
fn a_high_horizon_takes_the_low_sun() {
    let open = year("van", ROOF);
    let valley =
        year("van", &format!("weather = {{ horizon = [\"30°\", \"30°\", \"30°\", \"30°\"] }}\n{ROOF}"));
    // At 48° north the sun stands 18.6° high at noon of midwinter and 65.4° at noon of midsummer (90° − 48° ∓ 23.4°).
    assert!(sun(&valley, 11..=11) < 0.55 * sun(&open, 11..=11), "only diffuse light is left in December");
    assert!(sun(&valley, 5..=5) > 0.75 * sun(&open, 5..=5), "June is mostly above it");
}

#[test]
fn a_thing_on_the_roof_costs_some_sun_and_not_all() {
    let open = year("van", ROOF);
    let shaded = year(
        "van",
        &format!(
            "{ROOF}[[solar.roof.shade]]\ndirection = \"90°\"\ndistance = \"0.8 m\"\nheight = \"0.4 m\"\nwidth = \"0.6 m\"\nloss = \"60 %\"\n"
        ),
    );
    let share = sun(&shaded, 0..=11) / sun(&open, 0..=11);
    assert!((0.7..0.995).contains(&share), "{share}");
}

#[test]
fn a_steep_array_towards_the_equator_wins_in_winter_and_loses_in_summer() {
    let flat = year("hut", ROOF);
    let steep = year("hut", &format!("{ROOF}mounting = \"fixed\"\ntilt = \"60°\"\n"));
    assert!(sun(&steep, 11..=11) > 1.5 * sun(&flat, 11..=11));
    assert!(sun(&steep, 5..=5) < sun(&flat, 5..=5));
}

#[test]
fn outside_the_calendar_only_what_is_vital_runs() {
    let weekends =
        year("van", &format!("calendar = {{ used = [\"1 May to 30 Sep\"], days_per_week = 2 }}\n{ROOF}"));
    let used: Vec<u32> = weekends.months.iter().map(|month| month.used_days).collect();
    assert_eq!(used.iter().sum::<u32>(), used[4..=8].iter().sum::<u32>());
    // 153 days hold 21 or 22 week-ends.
    assert!((42..=44).contains(&used.iter().sum::<u32>()), "{used:?}");
    assert_eq!(weekends.months[0].books.asked(), 0.0);
    assert!(weekends.months[6].books.asked() > 1000.0);
}

#[test]
fn dirt_takes_its_share() {
    let (clean, dusty) =
        (year("van", &format!("{ROOF}dirt = \"0 %\"\n")), year("van", &format!("{ROOF}dirt = \"20 %\"\n")));
    // A little less than its share, since a dimmer module runs cooler.
    let share = sun(&dusty, 0..=11) / sun(&clean, 0..=11);
    assert!((0.79..0.83).contains(&share), "{share}");
}

#[test]
fn a_drawn_year_varies_the_use_and_the_typical_one_does_not() {
    let text = format!(
        "brief = {{ name = \"t\", craft = \"van\", rules = \"iec\", voltage = \"12 V\" }}\nbank = {{ chemistry = \"lfp\", capacity = \"100 Ah\" }}\n{ROOF}"
    );
    let source = SourceText { name: "test".to_owned(), text };
    let project = Project::read(source, model::library::builtin().clone()).expect("the project reads");
    let system = derive::derive(&project);
    let plant = Plant::of(&system).expect("a bank");
    let sky = Sky::of(&system, &plant, None);
    let mut scratch = Scratch::new();
    sky.typical(&plant, 1, &mut scratch);
    assert!(scratch.vary.iter().all(|vary| *vary == 1.0));
    sky.year(&plant, 1, 0, &mut scratch);
    let n = scratch.vary.len() as f64;
    let mean = scratch.vary.iter().sum::<f64>() / n;
    let spread = (scratch.vary.iter().map(|vary| (vary - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    // Mean 1 and spread 0.15, within 3.3 standard errors: 0.15/√365 = 0.0079 and 0.15/√730 = 0.0056.
    assert!((mean - 1.0).abs() < 0.026 && (spread - 0.15).abs() < 0.019, "{mean} {spread}");
}

const HERE: &str = "latitude = \"48 N\", longitude = \"11 E\"";

fn derived(place: &str, more: &str) -> model::System {
    let text = format!(
        "brief = {{ name = \"t\", craft = \"van\", rules = \"iec\", voltage = \"12 V\", place = {{ {place} }} }}\nbank = {{ chemistry = \"lfp\", capacity = \"100 Ah\" }}\n{more}"
    );
    let source = SourceText { name: "test".to_owned(), text };
    derive::derive(&Project::read(source, model::library::builtin().clone()).expect("the project reads"))
}

// What is kept from one study to the next must not change a digit, and must not be kept where the sky is another.
#[test]
fn a_kept_sky_gives_the_same_study_and_suits_only_its_own_place_and_arrays() {
    let load = |hours: u32| {
        format!("{ROOF}[loads.fridge]\npower = \"45 W\"\nhours = \"{hours} h/day\"\nlength = \"2 m\"\n")
    };
    let first = derived(HERE, &load(6));
    let (study, sky) = energy::study_under(&first, None, None).expect("a bank");
    assert_eq!(Some(study), energy::study(&first, None));
    for again in [derived(HERE, &load(9)), first] {
        let (study, same) = energy::study_under(&again, None, Some(&sky)).expect("a bank");
        assert!(std::sync::Arc::ptr_eq(&same, &sky));
        assert_eq!(Some(study), energy::study(&again, None));
    }
    let tilted = derived(HERE, &load(6).replace(ROOF, &format!("{ROOF}tilt = \"30°\"\n")));
    let elsewhere = derived("latitude = \"60 N\", longitude = \"10 E\"", &load(6));
    for other in [tilted, elsewhere] {
        let (study, another) = energy::study_under(&other, None, Some(&sky)).expect("a bank");
        assert!(!std::sync::Arc::ptr_eq(&another, &sky));
        assert_eq!(Some(study), energy::study(&other, None));
    }
}
