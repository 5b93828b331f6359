//! The bank's books, limits and laws, for every chemistry.

use energy::storage::BankModel;
use model::parts::{Battery, Chemistry, Stud};
use quantity::{AmpHours, Amps, Celsius, Fraction, Kilograms, Ohms, Volts, WattHours};

/// One battery of 12 V and 100 Ah, of figures as the parts library has them.
fn battery(chemistry: Chemistry, peukert: f64) -> Battery {
    let lfp = chemistry == Chemistry::Lfp;
    let (charge, milliohm, absorption) = match chemistry {
        Chemistry::Lfp => (50.0, 4.0, 14.2),
        Chemistry::Agm => (25.0, 4.0, 14.5),
        Chemistry::Gel => (20.0, 6.0, 14.2),
        Chemistry::Flooded => (13.0, 8.0, 14.4),
    };
    Battery {
        title: "a battery".into(),
        price: Vec::new(),
        mass: Kilograms::zero(),
        size: Vec::new(),
        note: None,
        chemistry,
        voltage: Volts::new(if lfp { 12.8 } else { 12.0 }),
        capacity: AmpHours::new(100.0),
        charge_limit: Amps::new(charge),
        discharge_limit: Amps::new(100.0),
        surge_limit: None,
        surge_time: None,
        short_circuit: None,
        internal_resistance: Ohms::new(milliohm / 1000.0),
        absorption: Volts::new(absorption),
        float: Volts::new(13.5),
        cutoff: Volts::new(if lfp { 10.0 } else { 10.5 }),
        charge_coldest: Celsius::new(if lfp { 0.0 } else { -15.0 }),
        discharge_coldest: Celsius::new(-20.0),
        hottest: Celsius::new(50.0),
        usable: Fraction::new(0.5),
        heated: Some(false),
        peukert,
        stud: Stud::M8,
        most_series: 4,
        most_parallel: 4,
    }
}

fn bank_of(battery: &Battery, series: u32, parallel: u32) -> BankModel {
    let (s, p) = (f64::from(series), f64::from(parallel));
    let bank = model::Bank {
        chemistry: battery.chemistry,
        series,
        parallel,
        capacity: battery.capacity * p,
        energy: WattHours::zero(),
        usable: WattHours::zero(),
        charge_limit: battery.charge_limit * p,
        discharge_limit: battery.discharge_limit * p,
        surge_limit: battery.discharge_limit * p,
        resistance: battery.internal_resistance * (s / p),
        short_circuit: Amps::zero(),
        voltage_high: Volts::zero(),
        voltage_low: Volts::zero(),
        batteries: Vec::new(),
        zone: Default::default(),
    };
    BankModel::of(&bank, battery)
}

fn peukert(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::Lfp => 1.02,
        Chemistry::Agm => 1.1,
        Chemistry::Gel => 1.17,
        Chemistry::Flooded => 1.3,
    }
}

fn bank(chemistry: Chemistry) -> BankModel {
    bank_of(&battery(chemistry, peukert(chemistry)), 1, 1)
}

#[test]
fn prints() {
    for chemistry in Chemistry::ALL {
        let model = bank(*chemistry);
        println!("{chemistry}: {} Wh, wells {:?}", model.capacity_wh(), model.wells());
        for power in [60.0, 250.0, 600.0] {
            let mut state = model.full();
            let (mut hours, mut out, mut ah) = (0.0, 0.0, 0.0);
            loop {
                if model.discharge_limit_w(&state, 25.0, 0.1) < power {
                    break;
                }
                let step = model.step(&mut state, -power, 25.0, 0.1);
                hours += 0.1;
                out -= step.terminal_wh;
                ah -= 0.1 * step.amps;
            }
            println!("  {power} W: {hours:.1} h, {out:.0} Wh {ah:.1} Ah soc {:.3}", state.soc);
        }
        let mut state = model.at(0.2);
        let mut taken = 0.0;
        let start = model.stored_wh(&state);
        for hour in 0..24 {
            let limit = model.charge_limit_w(&state, 25.0, 1.0);
            let step = model.step(&mut state, limit.min(5000.0), 25.0, 1.0);
            taken += step.terminal_wh;
            println!(
                "    h{hour} limit {limit:.1} W {:.2} V {:.2} A soc {:.4} lag {:.4}",
                step.volts, step.amps, state.soc, state.lag
            );
            if state.soc > 0.999 {
                break;
            }
        }
        println!("  charge efficiency {:.3}", (model.stored_wh(&state) - start) / taken);
    }
}
