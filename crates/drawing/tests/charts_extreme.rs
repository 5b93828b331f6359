//! Charts of any numbers at all: no place is `NaN` or infinite, no text leaves the frame, nothing panics.
//! Never: judges looks.
//! Start at `any_numbers_give_a_drawing`.

mod sample;
mod seen;

use drawing::chart::{
    Mark, TripDay, charge_over_the_year, hour_by_hour, months, running_out, trade_off, trip_days, worst_week,
};
use energy::Chance;
use proptest::prelude::*;
use quantity::Fraction;

fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => any::<f64>(),
        3 => 0.0..5000.0,
        1 => prop::sample::select(vec![
            0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, 1e15,
            1e-300, 1e300,
        ]),
    ]
}

/// Every number that places something is one.
fn places_are_numbers(name: &str, svg: &str) {
    let doc = seen::read(svg);
    for node in doc.descendants() {
        for place in ["x", "y", "width", "height", "viewBox", "font-size", "stroke-width", "d"] {
            let text = node.attribute(place).unwrap_or_default().to_lowercase();
            assert!(!text.contains("nan") && !text.contains("inf"), "{name}: {place}=\"{text}\"");
        }
    }
    seen::texts_stand_apart(name, svg);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn any_numbers_give_a_drawing(
        list in prop::collection::vec(wild(), 60),
        count in 0usize..60,
        text in "\\PC{0,60}",
    ) {
        let at = |i: usize| list[i % list.len()];
        let days = |i: usize| list.iter().cycle().skip(i).take(count).copied();

        let (mut year, mut years) = (sample::year(), sample::years());
        for (i, month) in year.months.iter_mut().enumerate() {
            let b = &mut month.books;
            for (k, entry) in [
                &mut b.sun_wh, &mut b.engine_wh, &mut b.generator_wh, &mut b.loads_dc_wh, &mut b.idle_wh,
                &mut b.bank_loss_wh, &mut b.stored_wh, &mut b.curtailed_wh, &mut b.given_up_wh, &mut b.short_wh,
            ].into_iter().enumerate() {
                *entry = at(i + 7 * k);
            }
        }
        year.total.sun_wh = at(1);
        year.lowest = (at(2), 8759);
        year.days = days(0).zip(days(1)).collect();
        year.weather.clone_from(&text);
        years.band = days(3).map(|low| [low, at(4), at(5), low, at(6)]).collect();
        for (i, month) in years.months.iter_mut().enumerate() {
            let [share, low, high] = [at(i), at(i + 1), at(i + 2)].map(Fraction::new);
            month.running_out = Chance { happened: 1, of: 2, share, low, high };
        }
        let mut week = sample::week();
        week.first_hour = count * 171;
        week.soc = days(2).collect();
        week.sun_w = days(3).collect();
        week.curtailed_w = days(4).collect();
        week.engine_w = days(5).take(count / 2).collect();
        week.need_w = days(6).collect();
        week.short_w = days(7).collect();
        let marks: Vec<Mark> = (0..count).map(|i| Mark {
            cost: at(i), mass_kg: at(2 * i + 1), chance: if i % 3 == 0 { at(i + 3) } else { i as f64 / 60.0 },
            label: text.clone(), is_front: i % 2 == 0, is_current: i == 3, is_chosen: i == 4,
        }).collect();
        let trip: Vec<TripDay> = (0..count).map(|i| TripDay {
            date: if i % 2 == 0 { text.clone() } else { format!("2027-{i:02}-03") },
            soc: [at(i), at(i + 1), at(i + 2)], came_in_wh: [at(i), at(i + 3), at(i + 4), 0.0],
            taken_wh: at(i + 5), short_wh: at(i + 6),
        }).collect();

        for (name, svg) in [
            ("months", months(&year)),
            ("charge", charge_over_the_year(Some(&years), &year, Some(at(7)))),
            ("charge alone", charge_over_the_year(None, &year, Some(0.2))),
            ("week", worst_week(&week, Some(at(8)))),
            ("hours", hour_by_hour(&week, None, &text)),
            ("chance", running_out(&years)),
            ("trade", trade_off(&marks, &text)),
            ("trip", trip_days(&trip)),
        ] {
            places_are_numbers(name, &svg);
        }
    }
}
