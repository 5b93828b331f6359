//! The hour loop: its books, its order, and by hand on systems small enough to reckon.

use energy::outcome::Books;
use energy::plant::Plant;
use energy::run::{Blind, Flow, Outside, Tally, Watch, run, run_two};
use energy::site::{DAYS, HOURS};
use model::{Project, SourceText};
use proptest::prelude::*;

fn plant(text: &str) -> Plant {
    try_plant(text).expect("a bank")
}

/// `None` where the library has no bank for it.
fn try_plant(text: &str) -> Option<Plant> {
    let source = SourceText { name: "test".to_owned(), text: text.to_owned() };
    let project = Project::read(source, model::library::builtin().clone()).expect("the project reads");
    Plant::of(&derive::derive(&project))
}

const BRIEF: &str = "brief = { name = \"t\", craft = \"van\", rules = \"iec\", voltage = \"12 V\", autonomy = \"48 h\", \
                     place = { latitude = \"50 N\", longitude = \"10 E\" } }\n";

fn with(rest: &str) -> Plant {
    plant(&format!("{BRIEF}{rest}"))
}

/// A year of the same sun from ten to two, and the same air.
fn year(plant: &Plant, sun_w: f64, air_c: f64) -> Tally {
    let sun: Vec<f64> =
        (0..HOURS).map(|hour| if (10..14).contains(&(hour % 24)) { sun_w } else { 0.0 }).collect();
    run(plant, Outside { sun_w: &sun, air_c: &vec![air_c; HOURS], vary: &[1.0; DAYS] }, &mut Blind)
}

const STEADY: &str = "loads.lamp = { power = \"10 W\", hours = \"24 h/day\", length = \"2 m\" }\n";

// 10 W all year is 87.6 kWh; arithmetic. Two batteries of 100 Ah hold days of it.
#[test]
fn a_steady_load_under_enough_sun_takes_exactly_its_energy() {
    let plant = with(&format!("{STEADY}bank = {{ chemistry = \"lfp\", capacity = \"200 Ah\" }}\n"));
    let total = year(&plant, 400.0, 20.0).total();
    assert!((total.loads_dc_wh - 87_600.0).abs() < 1e-6, "{}", total.loads_dc_wh);
    assert_eq!(total.short_wh, 0.0);
    assert!(total.gap() < 1e-9, "{}", total.gap());
    // A bank that ends the year as it began hands on what it took less its own losses.
    assert!(total.stored_wh.abs() < 20.0);
    assert!(total.curtailed_wh > 100_000.0, "1600 Wh a day of sun for 240 Wh a day of load");
}

#[test]
fn without_any_charging_everything_goes_short_once_the_bank_is_empty() {
    let plant = with(&format!("{STEADY}bank = {{ chemistry = \"lfp\", capacity = \"200 Ah\" }}\n"));
    let tally = year(&plant, 0.0, 20.0);
    let total = tally.total();
    assert!(total.gap() < 1e-9);
    // The bank was emptied in December already: nothing is served, all is short.
    assert!(total.short_wh > 86_000.0 && total.served() < 1_000.0);
    assert!(tally.short_hours() > 8_600);
    assert!(tally.longest_short > 8_600);
}

#[test]
fn spare_loads_give_way_before_usual_and_usual_before_vital() {
    let load = |importance: &str| {
        format!(
            "loads.{importance} = {{ power = \"10 W\", hours = \"24 h/day\", length = \"2 m\", importance = \"{importance}\" }}\n"
        )
    };
    let text = format!(
        "{}{}{}bank = {{ chemistry = \"agm\", capacity = \"100 Ah\" }}\n",
        load("vital"),
        load("usual"),
        load("spare")
    );
    let plant = with(&text);
    // 4 h of 100 W, less losses: about enough for a load and a half of three.
    let total = year(&plant, 100.0, 20.0).total();
    assert!(total.gap() < 1e-9);
    assert!(total.given_up_wh > 30_000.0, "the spare load mostly rests: {}", total.given_up_wh);
    let tally = year(&plant, 70.0, 20.0);
    assert!(tally.total().loads_dc_wh > 80_000.0, "the vital load is served: {}", tally.total().loads_dc_wh);
    assert!(tally.total().short_wh > 50_000.0, "the usual one is not");
}

#[test]
fn a_frozen_lithium_bank_takes_nothing() {
    let text = format!(
        "{STEADY}bank = {{ part = \"lfp-12v-100ah\", parallel = 2, zone = \"box\" }}\n[zones.box]\nkind = \"battery-box\"\n\
         coldest = \"-15 °C\"\nhottest = \"30 °C\"\n"
    );
    let total = year(&with(&text), 400.0, -10.0).total();
    assert!(total.gap() < 1e-9);
    // Only the load's own four hours a day run straight from the sun.
    assert!((total.served() - 87_600.0 * 4.0 / 24.0).abs() < 500.0, "{}", total.served());
}

// The AC load takes 2 h x 500 W = 1 kWh a day; the supply carries it alone while plugged in all day.
#[test]
fn shore_power_carries_alternating_current_past_the_inverter() {
    let text = "loads.kettle = { power = \"500 W\", supply = \"ac\", hours = \"2 h/day\", length = \"2 m\" }\n\
                bank = { chemistry = \"lfp\", capacity = \"200 Ah\" }\ninverter = { kind = \"inverter-charger\" }\n\
                shore = { current = \"10 A\", hours = \"24 h/day\" }\n";
    let total = year(&with(text), 0.0, 20.0).total();
    assert!(total.gap() < 1e-9);
    assert!((total.loads_ac_wh - 365_000.0).abs() < 1e-3, "{}", total.loads_ac_wh);
    assert_eq!(total.inverter_loss_wh, 0.0);
    assert!(total.shore_wh > 365_000.0);
}

#[test]
fn a_generator_runs_only_when_the_bank_is_low_and_only_by_day() {
    let text = format!(
        "{STEADY}bank = {{ chemistry = \"agm\", capacity = \"200 Ah\" }}\ngenerator = {{ power = \"2000 VA\" }}\n\
         charger = {{ current = \"40 A\" }}\ninverter = {{ kind = \"none\" }}\n"
    );
    let tally = year(&with(&text), 0.0, 20.0);
    let total = tally.total();
    assert!(total.gap() < 1e-9);
    assert_eq!(total.short_wh, 0.0, "it is never left without");
    let hours: f64 = tally.months.iter().map(|month| month.generator_hours).sum();
    // 87.6 kWh and what is lost, at no more than 40 A x 14.4 V.
    assert!(hours > 87_600.0 / (40.0 * 14.4) && hours < 2.0 * 87_600.0 / (40.0 * 12.0), "{hours}");
}

fn close(books: &Books) -> bool {
    books.gap() < 1e-9
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// In = out + losses + change in store, whatever comes from outside.
    #[test]
    fn the_books_close(
        sun in prop::collection::vec(0.0..900.0_f64, 48),
        air in prop::collection::vec(-30.0..45.0_f64, 40),
        vary in prop::collection::vec(0.3..2.0_f64, 30),
        chemistry in prop::sample::select(vec!["lfp", "agm", "gel", "flooded"]),
        capacity in 40.0..900.0_f64,
        fridge in 5.0..200.0_f64,
    ) {
        let text = format!(
            "{BRIEF}{STEADY}loads.fridge = {{ power = \"{fridge:.1} W\", hours = \"24 h/day\", duty = \"40 %\", length = \"2 m\", follows = \"heat\", nature = \"motor\", importance = \"vital\" }}\n\
             loads.tv = {{ power = \"60 W\", supply = \"ac\", hours = \"3 h/day\", length = \"2 m\", from = \"18:00\", importance = \"spare\" }}\n\
             bank = {{ chemistry = \"{chemistry}\", capacity = \"{capacity:.0} Ah\" }}\ninverter = {{ kind = \"inverter-charger\" }}\n\
             shore = {{ current = \"6 A\", hours = \"1 h/day\", every = 5 }}\nengine = {{ charging = \"dc-dc\", alternator = \"120 A\", driving = \"0.7 h/day\", drive_every = 3 }}\n\
             generator = {{ power = \"1000 VA\", hours = \"2 h/day\" }}\n[solar.roof]\ncount = 2\n"
        );
        let plant = try_plant(&text);
        prop_assume!(plant.is_some());
        let plant = plant.expect("just asked");
        let many = |values: &[f64], len: usize| -> Vec<f64> { values.iter().cycle().take(len).copied().collect() };
        let (sun, air, vary) = (many(&sun, HOURS), many(&air, HOURS), many(&vary, DAYS));
        let tally = run(&plant, Outside { sun_w: &sun, air_c: &air, vary: &vary }, &mut Blind);
        prop_assert!(close(&tally.total()), "{:?}", tally.total());
        for month in &tally.months {
            let books = &month.books;
            prop_assert!(close(books), "{books:?}");
            for part in [books.sun_wh, books.engine_wh, books.shore_wh, books.generator_wh, books.loads_dc_wh, books.loads_ac_wh,
                books.bank_loss_wh, books.idle_wh, books.curtailed_wh, books.short_wh, books.given_up_wh] {
                prop_assert!(part >= -1e-6, "{books:?}");
            }
            prop_assert!((0.0..=1.0).contains(&month.lowest));
        }
    }
}

// A charger set a volt above the controllers keeps the bank's voltage above theirs: it goes first; common practice, no source.
#[test]
fn the_highest_set_point_charges_first() {
    let project = |built: &str| {
        format!(
            "{STEADY}bank = {{ chemistry = \"agm\", capacity = \"400 Ah\" }}\nshore = {{ current = \"10 A\", hours = \"24 h/day\" }}\n\
             charger = {{ current = \"30 A\" }}\ninverter = {{ kind = \"none\" }}\n[solar.roof]\ncount = 2\n{built}"
        )
    };
    let shore = |built: &str| year(&with(&project(built)), 300.0, 20.0).total().shore_wh;
    let alike = shore("");
    let above = shore("[[built]]\nchange = \"charger\"\nabsorption = \"15.4 V\"\n");
    // What the load and the idle draw take in four sunny hours of each day moves from the sun to the charger with its loss.
    let plant = with(&project(""));
    let moved = (10.0 + plant.standing_w) * 4.0 * 365.0 / plant.supply.efficiency;
    assert!((above - alike - moved).abs() < 0.02 * moved, "{above} Wh against {alike} Wh");
}

/// Keeps what it sees, to the last digit.
#[derive(Default, PartialEq)]
struct Seen(Vec<[u64; 8]>, Vec<[u64; 3]>);

impl Watch for Seen {
    fn hour(&mut self, _: usize, flow: &Flow) {
        let Flow { soc, bank_c, sun_w, curtailed_w, engine_w, supply_w, need_w, short_w } = *flow;
        self.0.push([soc, bank_c, sun_w, curtailed_w, engine_w, supply_w, need_w, short_w].map(f64::to_bits));
    }
    fn day(&mut self, _: usize, low: f64, high: f64, bank_c: f64) {
        self.1.push([low, high, bank_c].map(f64::to_bits));
    }
}

// Each year by itself is the reference: what runs beside it must not show in a single digit.
#[test]
fn two_years_at_once_are_each_as_it_is_alone() {
    let lithium = with(&format!(
        "{STEADY}bank = {{ chemistry = \"lfp\", capacity = \"100 Ah\" }}\nengine = {{ charging = \"dc-dc\", alternator = \"120 A\", driving = \"0.7 h/day\", drive_every = 3 }}\n"
    ));
    let lead = with(&format!(
        "{STEADY}bank = {{ chemistry = \"agm\", capacity = \"200 Ah\" }}\ngenerator = {{ power = \"2000 VA\" }}\n\
         charger = {{ current = \"40 A\" }}\ninverter = {{ kind = \"none\" }}\n"
    ));
    let list = |len: usize, of: &dyn Fn(usize) -> f64| (0..len).map(of).collect::<Vec<f64>>();
    let dim =
        list(HOURS, &|hour| if (9..15).contains(&(hour % 24)) { 10.0 + (hour % 97) as f64 } else { 0.0 });
    let bright = list(HOURS, &|hour| if (6..18).contains(&(hour % 24)) { (hour % 211) as f64 } else { 0.0 });
    let air = list(HOURS, &|hour| (hour % 61) as f64 - 20.0);
    let vary = list(DAYS, &|day| 0.5 + (day % 7) as f64 / 6.0);
    let short = &bright[..HOURS - 1000];
    for (sun, other_sun) in [(&dim[..], &bright[..]), (&bright, &dim), (&dim, short)] {
        let outsides =
            [sun, other_sun].map(|sun_w| Outside { sun_w, air_c: &air[..sun_w.len()], vary: &vary });
        let (mut one, mut other) = (Seen::default(), Seen::default());
        let tallies = run_two([&lithium, &lead], outsides, [&mut one, &mut other]);
        let (mut one_alone, mut other_alone) = (Seen::default(), Seen::default());
        assert_eq!(tallies[0], run(&lithium, outsides[0], &mut one_alone));
        assert_eq!(tallies[1], run(&lead, outsides[1], &mut other_alone));
        assert!(one == one_alone && other == other_alone, "an hour differs");
        assert_eq!((one.0.len(), other.0.len()), (sun.len(), other_sun.len()));
    }
}
