//! The return side as the rules on shunt and chassis read it: which devices use it, where it begins.
//! Never: words a finding.
//! Start at [`bank_negatives`].

use model::{DeviceIx, Pole, Spec, TerminalRef};

use crate::Case;

/// The negative posts of the bank.
pub(crate) fn bank_negatives(case: &Case<'_>) -> Vec<TerminalRef> {
    let batteries =
        case.system.devices.iter().enumerate().filter(|(_, device)| matches!(device.spec, Spec::Battery(_)));
    batteries.filter_map(|(ix, _)| case.terminal(ix, "negative")).collect()
}

/// Whether a device takes or gives direct current of the bank through its negative terminals.
pub(crate) fn uses_return(spec: &Spec) -> bool {
    matches!(
        spec,
        Spec::Load(_)
            | Spec::Inverter(..)
            | Spec::Charger(..)
            | Spec::DcDc(..)
            | Spec::Controller(..)
            | Spec::Converter(_)
            | Spec::FusePanel(_)
            | Spec::StartBattery(_)
            | Spec::Alternator(_)
    )
}

/// The device's own negative terminals.
pub(crate) fn negatives(case: &Case<'_>, device: DeviceIx) -> Vec<TerminalRef> {
    let terminals = case.device(device).map_or(&[][..], |device| &device.terminals);
    let is_negative = terminals.iter().enumerate().filter(|(_, terminal)| terminal.pole == Pole::Negative);
    is_negative.map(|(terminal, _)| TerminalRef { device, terminal }).collect()
}

/// Whether a terminal belongs to the return side: negative, or bonded metal.
pub(crate) fn is_return(case: &Case<'_>, at: TerminalRef) -> bool {
    matches!(case.pole(at), Some(Pole::Negative | Pole::Earth))
}

/// Whether a device is the chassis.
pub(crate) fn is_chassis(case: &Case<'_>, device: DeviceIx) -> bool {
    case.device(device).is_some_and(|device| matches!(device.spec, Spec::Chassis))
}
