//! An array can give more current than its controller or its conductors may carry.
//! Never: judges the charging side (see `controller_too_small.rs`).
//! Start at [`RULE`].

use model::{CircuitKind, ConductorIx, Spec};
use quantity::{Amps, Celsius};
use reference::Place;

use crate::sources::arrays_of;
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// The strings together can give more current than the controller takes or than the conductors from the array may carry.
    /// ## Why
    /// Bright sky with clouds gives more than the rated current for minutes. No fuse opens on it, because the array cannot give much more
    /// than that; the cable just gets hot.
    /// ## Limit
    /// Maximum current: 1.25 times the short-circuit current of the strings (NEC 690.8(A)). Conductors: that where they run, with all
    /// factors, and 1.25 times that (1.5625 times in all) before any factor (690.8(B)).
    /// ## Mend
    /// Thicker conductors, a controller for more current, or more modules in series in fewer strings.
    /// ## Silent when
    /// The controller and every conductor carry it.
    /// ## Example
    /// Four 10 A strings in parallel on 4 mm².
    "array-current-too-high", Danger, "an array gives more current than its controller or cable may carry",
    reads: "modules, strings, controller, conductors of the array",
    na: "NEC 690.8", iec: "IEC 62548, 7.4; the NEC factors are used", sources: ["nec-690"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let more = case.reference.pv_current_factor();
    for (ix, device) in case.system.devices.iter().enumerate() {
        let Spec::Controller(part, _) = &device.spec else { continue };
        let arrays = arrays_of(case, ix);
        let short: Amps =
            arrays.iter().map(|array| array.module.short_current * f64::from(array.parallel)).sum();
        let most = short * more.value;
        if most <= part.highest_current {
            continue;
        }
        let found = out.danger(
            &device.id,
            case.part_cause(device),
            format!(
                "the array gives up to {most}; {} takes {} on its array side",
                device.id, part.highest_current
            ),
        );
        found.why("The controller overheats or fails with the array across its input.");
        found
            .because(format!("strings of {short} short-circuit together x {} = {most}", more.value))
            .cites(&more);
        found.undo();
        found.mend(format!(
            "take a controller for {most} or more on its array side, or have fewer strings in parallel"
        ));
    }
    let cables = case.cables().filter(|(_, conductor)| conductor.pole.carries_current());
    for (ix, conductor) in cables {
        if let Some(circuit) = case.circuit_of(conductor)
            && circuit.kind == CircuitKind::Array
        {
            judge(case, out, ix, circuit.current_steady * more.value);
        }
    }
}

/// Judges a conductor of an array that must carry `most`.
fn judge(case: &Case<'_>, out: &mut Out, ix: ConductorIx, most: Amps) {
    let (rules, reference) = (case.system.rules, case.reference);
    let again = reference.pv_conductor_factor();
    let bare = most * again.value;
    let Some(conductor) = case.conductor(ix) else { return };
    let (Some(Ok(there)), Some(place)) = (case.ampacity(ix), case.place(conductor)) else { return };
    // The tables' own ambient: before any factor.
    let free =
        Place { ambient: Celsius::new(30.0), engine_space: false, bundled_current_carrying: 1, ..place };
    // A hair of slack, so that a current that is exactly the table's does not fail by rounding.
    let enough = |found: Amps, asked: Amps| found >= asked * (1.0 - 1e-9);
    let carries = |gauge| {
        let with = reference.ampacity(rules, gauge, conductor.insulation, &place);
        let without = reference.ampacity(rules, gauge, conductor.insulation, &free);
        with.is_ok_and(|with| enough(with.value, most))
            && without.is_ok_and(|without| enough(without.value, bare))
    };
    if carries(conductor.gauge) {
        return;
    }
    let found = out.danger(
        &conductor.id,
        case.gauge_cause(conductor),
        format!("{} carries {} where it runs; the array gives up to {most}", conductor.id, there.value),
    );
    found.why("The sun can push this current for minutes without any fuse opening; the cable overheats on the roof.");
    found.because(format!("where it runs it carries {}; {most} is asked", there.value)).cites(there);
    if let Ok(table) = reference.ampacity(rules, conductor.gauge, conductor.insulation, &free) {
        found.because(format!("before any factor it carries {}; {bare} is asked", table.value)).cites(&table);
    }
    found.cites(&reference.pv_current_factor()).cites(&again);
    found.undo();
    match case.smallest_gauge(conductor.gauge, carries) {
        Some(gauge) => found.resize(&[conductor.id.as_str()], gauge),
        None => found.mend("have fewer strings in parallel and more modules in series"),
    };
}
