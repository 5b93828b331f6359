//! The engine charger leaves what the alternator could give unused, while energy is scarce.
//! Never: judges an alternator that gives too much (see `alternator_overloaded.rs`).
//! Start at [`RULE`].

use model::{Edit, Spec};
use quantity::{Amps, Written};

use crate::running::{is_scarce, wh};
use crate::{Case, Out, rule};

/// The alternator could give this many times what is taken. Common practice, no source.
const SPARE: f64 = 1.5;

rule! {
    /// ## What
    /// Energy is scarce, a usual drive brings less than was taken out since the last one, and both alternator and bank could do with a larger
    /// DC-DC charger.
    /// ## Why
    /// The engine runs anyway; a larger charger brings the energy without another module or hour of driving.
    /// ## Limit
    /// Told where the alternator can spare half as much again as the charger draws, and the bank may take it. Common practice, no source.
    /// ## Mend
    /// A larger DC-DC charger, within what the alternator can spare and the bank may take.
    /// ## Silent when
    /// Energy is not scarce; the drives bring what was taken; the alternator has little to spare; with a relay; without an engine or a bank.
    /// ## Example
    /// A charger of 20 A behind an alternator that could spare 80 A, on a van that runs short each winter.
    "engine-charger-too-small", Advice, "the engine charger is small for the drive",
    reads: "years of the energy study, setting of the DC-DC charger, spare current of the alternator, charging limit of the bank",
    na: "common practice", iec: "common practice", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let system = case.system;
    let (Some(study), Some(bank), Some(engine)) = (case.energy, &system.bank, &system.usage.engine) else {
        return;
    };
    if !is_scarce(case, study) || engine.driving.get() <= 0.0 {
        return;
    }
    let books = &study.years.mean;
    let months = &study.year.months;
    let days: f64 = months.iter().map(|month| f64::from(month.used_days)).sum::<f64>().max(1.0);
    let every = f64::from(engine.every.max(1));
    for device in &system.devices {
        let Spec::DcDc(part, setting) = &device.spec else { continue };
        let draws = part.input_current * (setting.current.get() / part.current.get().max(1.0)).min(1.0);
        if engine.spare < draws * SPARE {
            continue;
        }
        let could = Amps::new((setting.current.get() * (engine.spare / draws)).min(bank.charge_limit.get()));
        let larger = Amps::new((could.get() / 5.0).floor() * 5.0);
        let brings = books.engine_wh / days * every;
        let taken = (books.asked() + books.lost()) / days * every;
        if larger < setting.current * SPARE || brings >= taken {
            continue;
        }
        let found = out.advice(
            &device.id,
            case.cause(&[&format!("{}.part", device.id)], "engine"),
            format!(
                "a drive brings {}, {} is taken between drives; {} charges with {} where {larger} would go",
                wh(brings),
                wh(taken),
                device.id,
                setting.current
            ),
        );
        found.why("The engine runs anyway, and energy is scarce; a larger charger brings more of it.");
        found.because(format!("the alternator can spare {}; the charger draws {draws}", engine.spare));
        found.because(format!("the bank may take {}", bank.charge_limit));
        found.undo();
        for current in [setting.current * 2.0, larger] {
            if current <= larger {
                found.fix(
                    format!("charge with {current} from the engine"),
                    vec![
                        Edit { path: vec!["engine".to_owned(), "charger".to_owned()], value: None },
                        Edit::set("engine.current", current.show()),
                    ],
                );
            }
        }
        found.mend("take a larger DC-DC charger");
    }
}
