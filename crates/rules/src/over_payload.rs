//! The electrical system weighs more than the payload that it may have.
//! Never: counts what was there before.
//! Start at [`RULE`].

use quantity::Kilograms;

use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Devices and cable together weigh more than the brief allows.
    /// ## Why
    /// An overloaded vehicle brakes badly, fails inspection and is not insured; a boat floats below her marks.
    /// ## Limit
    /// The payload in the brief.
    /// ## Mend
    /// Lithium instead of lead-acid, a higher voltage with thinner cable, or less capacity.
    /// ## Silent when
    /// The mass is within the limit, or the brief sets none.
    /// ## Example
    /// 240 kg of lead-acid batteries where 180 kg are left.
    "over-payload", Warning, "the electrical system is heavier than allowed",
    reads: "mass of devices, length and size of conductors, payload",
    na: "the vehicle's own plate", iec: "the vehicle's own plate", sources: ["practice"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let Some(payload) = case.system.payload else { return };
    let devices = case.system.device_mass();
    let over = 1.0 + case.system.slack.get();
    let cable: Kilograms = case
        .cables()
        .map(|(_, conductor)| {
            case.reference.cable_mass(conductor.gauge.area(), conductor.length * over).value
        })
        .sum();
    let mass = devices + cable;
    if mass <= payload {
        return;
    }
    let found = out.warning(
        "brief.payload",
        case.cause(&[], "brief.payload"),
        format!("the electrical system weighs {mass}; {payload} are allowed"),
    );
    found.why("An overloaded vehicle brakes badly, fails inspection and is not insured.");
    found.because(format!("devices {devices}, cable about {cable}"));
    let mut heavy: Vec<_> =
        case.system.devices.iter().filter(|device| device.mass > Kilograms::zero()).collect();
    heavy.sort_by(|a, b| b.mass.total_cmp(&a.mass).then_with(|| a.id.cmp(&b.id)));
    for device in heavy.iter().take(3) {
        found.because(format!("{}: {}", device.id, device.mass));
    }
    found.cites(&case.reference.cable_mass(quantity::SquareMm::new(1.0), quantity::Metres::new(1.0)));
    found.mend(format!(
        "save {} kg: a lighter chemistry, a higher voltage with thinner cable, or less capacity",
        (mass - payload).get().ceil()
    ));
}
