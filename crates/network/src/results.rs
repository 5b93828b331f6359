//! What the study of a system finds: volts, amps and losses in each scene, and fault currents everywhere.
//! Never: judges (see `rules`), changes the system.
//! Start at [`Results`].

use model::{ConductorIx, DeviceIx, TerminalRef};
use quantity::{Amps, Ohms, Volts, Watts};
use serde::Serialize;

/// A state of the system that is worth solving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scene {
    /// Every load that may run together runs, from the bank alone, at its lowest working voltage.
    EverythingOn,
    /// Night: loads that run while waiting or all day, from the bank alone.
    Night,
    /// Every charging source gives all it can into a low bank, with the night loads on.
    Charging,
    /// Every motor and inverter starts, one at a time being largest, from the bank at its lowest working voltage.
    Starting,
}

/// One scene, solved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SceneResult {
    /// The scene.
    pub scene: Scene,
    /// Volts of each terminal against the bank's negative, `[device][terminal]`; `None` on the AC side.
    pub volts: Vec<Vec<Option<Volts>>>,
    /// Amps in each conductor, positive from `from` to `to`; zero on the AC side.
    pub amps: Vec<Amps>,
    /// Watts lost in each conductor.
    pub losses: Vec<Watts>,
    /// Amps of each two-terminal device: battery discharging, source delivering, load taking, fuse passing.
    pub device_amps: Vec<Amps>,
    /// Loads whose power the network cannot carry at all.
    pub collapsed: Vec<DeviceIx>,
    /// Loads joined to no source.
    pub dead: Vec<DeviceIx>,
}

/// Bolted-fault currents, from a terminal of an ungrounded pole to the return at the same place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Faults {
    /// Largest: hot charged bank, cold cable, every source feeding. `[device][terminal]`; `None` where no DC source reaches.
    pub most: Vec<Vec<Option<Amps>>>,
    /// Smallest, at the far end: cold low bank alone, hot cable.
    pub least: Vec<Vec<Option<Amps>>>,
}

/// Everything the study finds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Results {
    /// The scenes.
    pub scenes: Vec<SceneResult>,
    /// Faults on the DC side.
    pub faults: Faults,
    /// Resistance of each conductor at its working temperature.
    pub resistances: Vec<Ohms>,
}

impl Results {
    /// A scene's result.
    pub fn scene(&self, scene: Scene) -> Option<&SceneResult> {
        self.scenes.iter().find(|result| result.scene == scene)
    }
    /// Largest fault current at a terminal.
    pub fn most_fault(&self, at: TerminalRef) -> Option<Amps> {
        *self.faults.most.get(at.device)?.get(at.terminal)?
    }
    /// Smallest fault current at a terminal.
    pub fn least_fault(&self, at: TerminalRef) -> Option<Amps> {
        *self.faults.least.get(at.device)?.get(at.terminal)?
    }
    /// Largest current of a conductor in any scene but starting.
    pub fn largest_steady(&self, conductor: ConductorIx) -> Amps {
        self.scenes
            .iter()
            .filter(|result| result.scene != Scene::Starting)
            .filter_map(|result| result.amps.get(conductor))
            .fold(Amps::zero(), |most, amps| most.max(amps.abs()))
    }
}
