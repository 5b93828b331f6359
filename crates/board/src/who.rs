//! Which devices stand on the board: what short cables join to the busbars, less what sits at its source or in a panel.
//! Never: places anything.
//! Start at [`on_board`].

use std::collections::VecDeque;

use model::{BoardIntent, DeviceIx, Spec, System};
use quantity::Metres;
use reference::Reference;

use crate::footprint::kind_word;

/// Longest cable between a fuse and the source beside which it sits: as the derivation makes them, with some room.
const BESIDE_SOURCE_M: f64 = 0.3;

/// The devices on the board, in the order of the system.
///
/// From the busbars (else the first panel or inverter) along cables within the reach of one board, in the same zone.
/// A fuse beside a battery or array, a way of a panel, an inlet and a load stay off. `with` and `without` of the person win.
pub fn on_board(system: &System, wanted: &BoardIntent) -> Vec<DeviceIx> {
    let count = system.devices.len();
    let can: Vec<bool> = system.devices.iter().map(|device| can_stand(&device.spec)).collect();
    let is_source = |spec: &Spec| {
        matches!(
            spec,
            Spec::Battery(_) | Spec::StartBattery(_) | Spec::Array(_) | Spec::Alternator(_) | Spec::Chassis
        )
    };
    let mut beside: Vec<Vec<(usize, DeviceIx)>> = vec![Vec::new(); count];
    for (ix, conductor) in system.conductors.iter().enumerate() {
        let (from, to) = (conductor.from.device, conductor.to.device);
        if from < count && to < count && from != to {
            beside[from].push((ix, to));
            beside[to].push((ix, from));
        }
    }
    let near = Metres::new(BESIDE_SOURCE_M);
    let is_at_source: Vec<bool> = (0..count)
        .map(|ix| {
            let guards =
                matches!(system.devices[ix].spec, Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_));
            guards
                && beside[ix].iter().any(|(link, other)| {
                    let conductor = &system.conductors[*link];
                    is_source(&system.devices[*other].spec)
                        && conductor.pole.is_ungrounded()
                        && (conductor.is_internal || conductor.length <= near)
                })
        })
        .collect();
    let named = |list: &[String], ix: DeviceIx| list.contains(&system.devices[ix].id);
    let mut roots: Vec<DeviceIx> =
        (0..count).filter(|ix| matches!(system.devices[*ix].spec, Spec::Busbar(_))).collect();
    let zone = roots.first().map(|ix| system.devices[*ix].zone);
    roots.retain(|ix| Some(system.devices[*ix].zone) == zone);
    if roots.is_empty() {
        roots.extend((0..count).find(|ix| {
            matches!(system.devices[*ix].spec, Spec::FusePanel(_) | Spec::AcPanel(_) | Spec::Inverter(..))
        }));
    }
    let mut is_on = vec![false; count];
    let mut queue: VecDeque<DeviceIx> = VecDeque::new();
    let asked = (0..count).filter(|ix| can[*ix] && named(&wanted.with, *ix));
    for root in roots.into_iter().chain(asked) {
        if !is_on[root] && !named(&wanted.without, root) {
            is_on[root] = true;
            queue.push_back(root);
        }
    }
    let reach = Reference::standard().board_reach().value;
    while let Some(ix) = queue.pop_front() {
        for (link, other) in &beside[ix] {
            let conductor = &system.conductors[*link];
            let is_near = conductor.is_internal
                || conductor.length <= near
                || (conductor.length <= reach && system.devices[*other].zone == system.devices[ix].zone);
            if is_near
                && can[*other]
                && !is_on[*other]
                && !is_at_source[*other]
                && !named(&wanted.without, *other)
            {
                is_on[*other] = true;
                queue.push_back(*other);
            }
        }
    }
    (0..count).filter(|ix| is_on[*ix]).collect()
}

/// Whether it is a thing of its own that can be screwed to a board: not a way of a panel.
fn can_stand(spec: &Spec) -> bool {
    let is_way = match spec {
        Spec::Fuse(fuse) => fuse.panel.is_some(),
        Spec::Breaker(breaker) => breaker.panel.is_some(),
        _ => false,
    };
    !is_way && kind_word(spec).is_some()
}
