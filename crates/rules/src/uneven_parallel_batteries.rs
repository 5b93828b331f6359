//! Parallel batteries do not share the current evenly, because their leads differ.
//! Never: computes the sharing (see the study).
//! Start at [`RULE`].

use model::{DeviceIx, Spec};
use network::Scene;
use quantity::Amps;

use crate::{Case, Out, Severity, rule, sources};

rule! {
    /// ## What
    /// One string of a parallel bank carries clearly more than its share, because the cable from it to the busbars is shorter or thicker.
    /// ## Why
    /// That battery ages first, and it may pass its own limit while the bank as a whole seems well within its own.
    /// ## Limit
    /// Warning where the largest share is more than 10 % above the mean (common practice, no source); danger where a battery passes its
    /// own charging or discharging limit.
    /// ## Mend
    /// Take positive and negative at opposite ends of the row, or give every battery leads of equal length and size to common busbars.
    /// ## Silent when
    /// There is one string, the shares are within the limit, or the current is too small to matter (under a tenth of the bank's limit).
    /// ## Example
    /// Four batteries in a row with both main cables at the first.
    "uneven-parallel-batteries", Danger, "parallel batteries share the current unevenly",
    reads: "currents of the batteries in the scenes with everything on and with everything charging",
    na: "ABYC E-10; trade practice", iec: "trade practice; IEC 62485-2 is silent on vehicles", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(bank) = &case.system.bank else { return };
    if bank.parallel < 2 {
        return;
    }
    for (scene, what) in [(Scene::EverythingOn, "everything on"), (Scene::Charging, "full charging")] {
        let mut shares: Vec<(DeviceIx, Amps, Amps)> = Vec::new();
        for ix in &bank.batteries {
            if let Some(Spec::Battery(battery)) = case.device(*ix).map(|device| &device.spec)
                && battery.place == 0
                && let Some(amps) = sources::device_amps(case, scene, *ix)
            {
                let own = if scene == Scene::Charging {
                    battery.part.charge_limit
                } else {
                    battery.part.discharge_limit
                };
                shares.push((*ix, amps, own));
            }
        }
        let total: Amps = shares.iter().map(|share| share.1).sum();
        let of_bank = if scene == Scene::Charging { bank.charge_limit } else { bank.discharge_limit };
        let limit = case.reference.uneven_share();
        if shares.len() < 2 || total < of_bank * limit.value {
            continue;
        }
        let mean = total / shares.len() as f64;
        let Some(&(ix, most, own)) = shares.iter().max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        let above = most / mean - 1.0;
        // Where even shares would pass the limit, the fault is the bank's size, not its leads.
        let severity = match (most > own && mean <= own, above > limit.value.get() * (1.0 + 1e-9)) {
            (true, _) => Severity::Danger,
            (false, true) => Severity::Warning,
            (false, false) => continue,
        };
        let Some(device) = case.device(ix) else { continue };
        let found = out.open(
            severity,
            &device.id,
            case.cause(&[], &cause(case, ix).unwrap_or_else(|| device.intent.clone())),
            format!(
                "with {what}, {} carries {most}, {:.0} % above the mean of {mean}; {:.0} % is the limit and {own} its own",
                device.id,
                above * 100.0,
                limit.value.get() * 100.0
            ),
        );
        found.why("This battery works hardest, ages first and may cut off or overheat before the others.");
        for (ix, amps, _) in &shares {
            found.because(format!("{} carries {amps}", case.name(*ix)));
        }
        found.cites(&limit);
        found.undo();
        found.mend(
            "take the positive lead at one end of the row and the negative lead at the other, or give every battery \
             its own pair of leads, equal in length and size, to common busbars",
        );
    }
}

/// A built change on one of the leads of the bank, where there is one: it is the likely cause.
fn cause(case: &Case<'_>, battery: DeviceIx) -> Option<String> {
    let terminals = case.device(battery)?.terminals.len();
    let ends =
        (0..terminals).flat_map(|terminal| case.at(model::TerminalRef { device: battery, terminal }).iter());
    ends.filter_map(|ix| case.conductor(*ix))
        .map(|conductor| &conductor.intent)
        .find(|path| path.starts_with("built"))
        .cloned()
}
