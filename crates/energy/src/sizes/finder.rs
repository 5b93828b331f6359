//! Which options a project has: the parts of the library that may stand in the place of those that stand there, each derived.
//! Never: judges a combination; asks more of a part than `derive` does.
//! Start at [`Finder`], a function for each kind.

use model::parts::{Chemistry, PartFacts};
use model::{Edit, Name, Project, Spec, System, ZoneIx};
use quantity::Volts;
use rayon::prelude::*;

use super::options::{Brings, Choice, Panel, counted, hindrance, is_alike, one_watt, panel_of};
use super::worth::{Worth, modules_on, usual_roof};
use crate::plant::Plant;
use crate::weather::Note;

/// An option still to be derived.
#[derive(Clone, Default)]
pub struct Ask {
    pub title: String,
    edits: Vec<Edit>,
    /// The part that must come out, `kind.id`, and how often.
    wants: Option<(String, u32)>,
    pub array: Option<model::Array>,
    size: f64,
}

/// Finds the options.
pub struct Finder<'p> {
    pub project: &'p Project,
    pub system: &'p System,
    pub base: Worth,
    pub classes: Vec<model::Array>,
    pub notes: Vec<Note>,
}

impl Finder<'_> {
    pub fn note(&mut self, id: &str, message: String) {
        self.notes.push(Note { id: id.to_owned(), message, line: 0 });
    }

    /// Takes a field away where the file has it.
    fn without(&self, path: &str) -> Option<Edit> {
        self.project
            .spans
            .has(path)
            .then(|| Edit { path: path.split('.').map(str::to_owned).collect(), value: None })
    }

    /// The part of the first device that `is` of a kind, `kind.id`; empty where the person described it.
    fn part_of(&self, is: impl Fn(&Spec) -> bool) -> String {
        let device = self.system.devices.iter().find(|device| is(&device.spec));
        device.and_then(|device| device.part.clone()).unwrap_or_default()
    }

    /// The edits that free the bank from what was said about it.
    fn free_bank(&self) -> Vec<Edit> {
        let fields = [
            "chemistry",
            "capacity",
            "series",
            "battery_voltage",
            "battery_capacity",
            "battery_charge_limit",
            "battery_discharge_limit",
            "battery_short_circuit",
            "battery_resistance",
            "battery_stud",
        ];
        fields.iter().filter_map(|field| self.without(&format!("bank.{field}"))).collect()
    }

    pub fn banks(&mut self) -> Vec<Ask> {
        let Some(bank) = &self.system.bank else { return Vec::new() };
        let current = self.part_of(|spec| matches!(spec, Spec::Battery(_)));
        let mut asks =
            vec![Ask { title: bank_title(self.system, bank), size: bank.energy.get(), ..Ask::default() }];
        let said = self.project.intent.bank.as_ref();
        if let Some(chemistry) = said.and_then(|bank| bank.chemistry) {
            self.note("chemistry", format!("the bank stays {chemistry}, as intent.toml says"));
        }
        // A bank whose chemistry nobody said, yet whose part is named, stays of that chemistry too.
        let kept = said.and_then(|said| {
            said.chemistry
                .or((said.part.is_some() || said.battery_capacity.is_some()).then_some(bank.chemistry))
        });
        let fitting: Vec<(&Name, &model::parts::Battery)> = self
            .project
            .library
            .battery
            .iter()
            .filter(|(_, battery)| kept.is_none_or(|kept| kept == battery.chemistry))
            .filter(|(_, battery)| warmed_as_needed(self.system, bank.zone, battery))
            .collect();
        let least: Vec<Option<u32>> =
            fitting.par_iter().map(|(id, battery)| self.least_strings(id, battery)).collect();
        for ((id, battery), least) in fitting.iter().zip(least) {
            let Some(least) = least else { continue };
            let series = (self.system.voltage.get() / nominal(battery.voltage)).round().max(1.0);
            for parallel in least..=battery.most_parallel {
                let count = parallel * series as u32;
                if current == format!("battery.{id}")
                    && parallel == bank.parallel
                    && series as u32 == bank.series
                {
                    continue;
                }
                let mut edits = vec![
                    Edit::set("bank.part", id.to_string()),
                    Edit::set("bank.parallel", parallel.to_string()),
                ];
                edits.extend(self.free_bank());
                let energy = battery.voltage * battery.capacity * f64::from(count);
                asks.push(Ask {
                    title: format!("{count} x {}", battery.title),
                    edits,
                    wants: Some((format!("battery.{id}"), count)),
                    size: energy.get(),
                    ..Ask::default()
                });
            }
        }
        asks
    }

    /// Fewest strings of a battery that carry what runs together, as `derive` counts them; `None` where it does not fit.
    fn least_strings(&self, id: &Name, battery: &model::parts::Battery) -> Option<u32> {
        let mut library = self.project.library.clone();
        library.battery.retain(|known, _| known == id);
        let alone = Project { library, ..self.project.clone() };
        let mut edits = vec![
            Edit::set("bank.chemistry", battery.chemistry.word()),
            // Capacity is what the search is to find, so the need of days must not ask for strings here.
            Edit::set("brief.autonomy", "1 h"),
        ];
        let chemistry = ["bank", "chemistry"];
        edits.extend(self.free_bank().into_iter().filter(|edit| edit.path != chemistry));
        edits.extend(self.without("bank.part"));
        edits.extend(self.without("bank.parallel"));
        edits.extend(
            self.project
                .intent
                .solar
                .keys()
                .map(|name| Edit { path: vec!["solar".to_owned(), name.to_string()], value: None }),
        );
        let system = derive::derive(&alone.with_edits(&edits).ok()?);
        let bank = system.bank.as_ref()?;
        hindrance(self.system, &system).is_none().then_some(bank.parallel.max(1))
    }

    pub fn arrays(&mut self) -> Vec<Ask> {
        let arrays: Vec<&model::Array> = self
            .system
            .devices
            .iter()
            .filter_map(|device| match &device.spec {
                Spec::Array(array) => Some(array),
                _ => None,
            })
            .collect();
        let watts = |name: &str| -> f64 {
            let own = arrays.iter().filter(|array| array.name == name);
            own.map(|array| array.module.power.get() * f64::from(array.series * array.parallel)).sum()
        };
        let mut names: Vec<&str> = arrays.iter().map(|array| array.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        let Some(name) =
            names.iter().copied().max_by(|a, b| watts(a).total_cmp(&watts(b)).then_with(|| b.cmp(a)))
        else {
            self.note("no-array", "the project has no array, so none was tried".to_owned());
            return vec![Ask { title: "no array".to_owned(), ..Ask::default() }];
        };
        let name = name.to_owned();
        let own: Vec<&model::Array> = arrays.iter().filter(|array| array.name == name).copied().collect();
        let count: u32 = own.iter().map(|array| array.series * array.parallel).sum();
        let current = self
            .system
            .devices
            .iter()
            .find(|device| matches!(&device.spec, Spec::Array(array) if array.name == name))
            .and_then(|device| device.part.clone())
            .unwrap_or_default();
        let Some(first) = own.first().map(|array| (*array).clone()) else { return Vec::new() };
        let mut asks = vec![Ask {
            title: format!("{count} x {}", first.module.title),
            size: watts(&name),
            ..Ask::default()
        }];
        if names.len() > 1 {
            self.note("other-arrays", format!("only the array `{name}`, the largest, was varied"));
        }
        let space = match first.space.as_slice() {
            [length, width, ..] => (length.get(), width.get()),
            _ => {
                let (length, width) = usual_roof(self.system.craft);
                let path = format!("solar.{name}.space");
                self.note(
                    "roof",
                    format!("`{path}` does not say what modules may cover; {length} m by {width} m are taken for a {}; common practice, no source", self.system.craft),
                );
                (length, width)
            }
        };
        let mut freed: Vec<Edit> = ["series", "controller"]
            .iter()
            .filter_map(|field| self.without(&format!("solar.{name}.{field}")))
            .collect();
        freed.extend(self.without(&format!("pins.{name}.series")));
        for (id, module) in &self.project.library.module {
            for number in 1..=modules_on(space, module.size()).min(MOST_MODULES) {
                if current == format!("module.{id}") && number == count {
                    continue;
                }
                let mut edits = vec![
                    Edit::set(&format!("solar.{name}.module"), id.to_string()),
                    Edit::set(&format!("solar.{name}.count"), number.to_string()),
                ];
                edits.extend(freed.iter().cloned());
                asks.push(Ask {
                    title: format!("{number} x {}", module.title),
                    edits,
                    wants: Some((format!("module.{id}"), number)),
                    array: Some(model::Array { module: module.clone(), ..first.clone() }),
                    size: (module.power * f64::from(number)).get(),
                });
            }
        }
        asks.push(Ask {
            title: "no array".to_owned(),
            edits: vec![Edit { path: vec!["solar".to_owned(), name], value: None }],
            ..Ask::default()
        });
        asks
    }

    pub fn engines(&mut self) -> Vec<Ask> {
        let system = self.system;
        let dcdc = system.devices.iter().find_map(|device| match &device.spec {
            Spec::DcDc(part, _) => Some((part, device.part.clone().unwrap_or_default())),
            _ => None,
        });
        let relay = system.devices.iter().find_map(|device| match &device.spec {
            Spec::Relay(part) => Some(part),
            _ => None,
        });
        let current = Ask {
            title: match (&dcdc, relay) {
                (Some((part, _)), _) => part.title.clone(),
                (None, Some(part)) => part.title.clone(),
                (None, None) => "no engine charging".to_owned(),
            },
            size: dcdc.as_ref().map_or(0.0, |(part, _)| part.current.get()),
            ..Ask::default()
        };
        let mut asks = vec![current];
        let Some(used) = &system.usage.engine else { return asks };
        let input =
            self.project.intent.engine.as_ref().and_then(|engine| engine.voltage).unwrap_or(Volts::new(12.0));
        let freed: Vec<Edit> = self.without("engine.current").into_iter().collect();
        // As `derive` holds it: six tenths of what the alternator can spare, so that it also survives idling in summer.
        let most = used.spare * 0.6;
        for (id, part) in &self.project.library.dcdc {
            let fits = same_nominal(part.input, input)
                && same_nominal(part.output, system.voltage)
                && part.input_current <= most;
            if !fits || dcdc.as_ref().is_some_and(|(_, known)| *known == format!("dcdc.{id}")) {
                continue;
            }
            let mut edits = vec![Edit::set("engine.charger", id.to_string())];
            // Said only where it is another way of charging than now.
            edits.extend(relay.map(|_| Edit::set("engine.charging", "dc-dc")));
            edits.extend(freed.iter().cloned());
            asks.push(Ask {
                title: part.title.clone(),
                edits,
                wants: Some((format!("dcdc.{id}"), 1)),
                size: part.current.get(),
                ..Ask::default()
            });
        }
        let mut edits = vec![Edit::set("engine.charging", "none")];
        edits.extend(self.without("engine.charger"));
        edits.extend(freed);
        asks.push(Ask { title: "no engine charging".to_owned(), edits, ..Ask::default() });
        asks
    }

    pub fn inverters(&mut self) -> Vec<Ask> {
        let found = self.system.devices.iter().find_map(|device| match &device.spec {
            Spec::Inverter(part, _) => Some((part, device.part.clone().unwrap_or_default())),
            _ => None,
        });
        let Some((part, current)) = found else {
            return vec![Ask { title: "no inverter".to_owned(), ..Ask::default() }];
        };
        let mut asks = vec![Ask { title: part.title.clone(), size: part.power.get(), ..Ask::default() }];
        let is_charger = part.charge.is_some();
        let likely: Vec<(&Name, &model::parts::Inverter)> = self
            .project
            .library
            .inverter
            .iter()
            .filter(|(id, other)| {
                current != format!("inverter.{id}")
                    && other.charge.is_some() == is_charger
                    && same_nominal(other.voltage, self.system.voltage)
                    && same_nominal_ac(other.output, part.output)
            })
            .collect();
        // Alone in the library it is chosen only if it meets every need.
        let fits: Vec<bool> = likely
            .par_iter()
            .map(|(id, _)| {
                let mut library = self.project.library.clone();
                library.inverter.retain(|known, _| known == *id);
                let alone = Project { library, ..self.project.clone() };
                let edits: Vec<Edit> = self.without("inverter.part").into_iter().collect();
                alone.with_edits(&edits).is_ok_and(|alone| {
                    let system = derive::derive(&alone);
                    hindrance(self.system, &system).is_none()
                        && counted(&system, &format!("inverter.{id}")) == 1
                })
            })
            .collect();
        for ((id, part), _) in likely.iter().zip(fits).filter(|(_, fits)| *fits) {
            asks.push(Ask {
                title: part.title.clone(),
                edits: vec![Edit::set("inverter.part", id.to_string())],
                wants: Some((format!("inverter.{id}"), 1)),
                size: part.power.get(),
                ..Ask::default()
            });
        }
        asks
    }

    /// Derives the project with an option; else why it is not what comes out.
    pub fn derive(&self, ask: &Ask) -> Result<Choice, String> {
        let system = if ask.edits.is_empty() {
            self.system.clone()
        } else {
            let project = self.project.with_edits(&ask.edits).map_err(|problems| {
                problems.first().map_or_else(String::new, |problem| problem.message.clone())
            })?;
            derive::derive(&project)
        };
        if let Some(why) = hindrance(self.system, &system) {
            return Err(why);
        }
        if let Some((part, count)) = &ask.wants
            && counted(&system, part) != *count
        {
            return Err("a pin or another choice of the project stands against it".to_owned());
        }
        let plant = Plant::of(&system).ok_or_else(|| "it leaves no bank".to_owned())?;
        let brings = self.brings(&system, plant).ok_or_else(|| "it leaves no bank".to_owned())?;
        Ok(Choice {
            title: ask.title.clone(),
            edits: ask.edits.clone(),
            size: ask.size,
            more: Worth::of(&system, &self.project.library).minus(self.base),
            brings,
        })
    }

    fn brings(&self, system: &System, plant: Plant) -> Option<Brings> {
        let dcdc = system.devices.iter().find_map(|device| match &device.spec {
            Spec::DcDc(part, _) => Some(part),
            _ => None,
        });
        let inverter_charger = system.devices.iter().find_map(|device| match &device.spec {
            Spec::Inverter(part, Some(_)) => {
                part.charge.map(|charge| (charge.get(), part.efficiency_full.get()))
            }
            _ => None,
        });
        Some(Brings {
            facts: system.bank.clone()?,
            panels: plant.arrays.iter().map(|array| self.panel(system, array)).collect::<Option<_>>()?,
            bank: plant.bank,
            floor: plant.floor,
            spare_floor: plant.spare_floor,
            supply: plant.supply,
            controllers: plant.controllers,
            standing_w: plant.standing_w,
            engine: plant.engine,
            order: plant.order,
            inverter: plant.inverter,
            inverter_share: plant.inverter_share,
            inverter_on: plant.needs.inverter_on,
            inverter_charger,
            dcdc_amps: dcdc.map_or(0.0, |part| part.current.get()),
            dcdc_profiles: dcdc.map_or_else(Vec::new, |part| part.profiles.clone()),
        })
    }

    fn panel(&self, system: &System, array: &crate::plant::ArrayPlant) -> Option<Panel> {
        panel_of(&self.classes, system, array)
    }

    pub fn class(&mut self, array: &model::Array) {
        if !self.classes.iter().any(|known| is_alike(known, array)) {
            self.classes.push(one_watt(array));
        }
    }
}

/// Most modules that are tried on one roof.
const MOST_MODULES: u32 = 40;

fn bank_title(system: &System, bank: &model::Bank) -> String {
    let title = system.devices.iter().find_map(|device| match &device.spec {
        Spec::Battery(at) => Some(at.part.title.clone()),
        _ => None,
    });
    format!("{} x {}", bank.batteries.len(), title.unwrap_or_default())
}

/// As `derive` holds it: a lithium bank that may freeze needs a battery that warms itself, and no other does.
fn warmed_as_needed(system: &System, zone: ZoneIx, battery: &model::parts::Battery) -> bool {
    let Some(zone) = system.zones.get(zone) else { return true };
    let freezes = battery.chemistry == Chemistry::Lfp && zone.coldest < battery.charge_coldest;
    freezes == (battery.heated == Some(true))
}

/// The nominal voltage that a part belongs to: 12.8 V counts as 12 V.
fn nominal(volts: Volts) -> f64 {
    [6.0, 12.0, 24.0, 36.0, 48.0]
        .into_iter()
        .min_by(|a: &f64, b| (a - volts.get()).abs().total_cmp(&(b - volts.get()).abs()))
        .unwrap_or(12.0)
}

fn same_nominal(a: Volts, b: Volts) -> bool {
    nominal(a) == nominal(b) && (a / b - 1.0).abs() < 0.25
}

fn same_nominal_ac(a: Volts, b: Volts) -> bool {
    (a / b - 1.0).abs() < 0.1
}
