//! The list of projects, new ones, copies.
//! Never: opens a project for editing to list it.
//! Start at [`Desk::folder`].

use model::{BankVolts, Craft, Project};
use reference::RuleSet;

use super::Desk;
use super::seat::{problems, trouble_at};
use crate::answer::Trouble;
use crate::wire;

/// Projects that a folder may hold before another is refused.
const MOST_PROJECTS: usize = 500;

impl Desk {
    /// What was opened.
    pub fn folder(&self) -> Result<wire::Folder, Trouble> {
        let home = self.shelf.folder();
        let name = home.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        Ok(wire::Folder {
            name,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            safety: pack::SAFETY.to_owned(),
            projects: self.cards()?,
            crafts: crafts(),
            voltages: voltages(),
            rule_sets: rule_sets(),
        })
    }

    fn cards(&self) -> Result<Vec<wire::ProjectCard>, Trouble> {
        let listed = self.shelf.projects().map_err(|error| trouble_at(self.shelf.folder(), &error))?;
        Ok(listed
            .into_iter()
            .map(|listed| {
                let (name, about, trouble) = match self.shelf.project(&listed.key) {
                    Ok(project) => (project.intent.brief.name.clone(), about(&project), String::new()),
                    Err(error) => {
                        let first = problems(&listed.folder, &error).into_iter().next();
                        let trouble = first.map_or_else(
                            || "it cannot be read".to_owned(),
                            |problem| match problem.line {
                                0 => problem.message,
                                line => format!("{}:{line}: {}", problem.file, problem.message),
                            },
                        );
                        (listed.name, String::new(), trouble)
                    }
                };
                wire::ProjectCard { key: listed.key, name, variant_of: listed.variant_of, about, trouble }
            })
            .collect())
    }

    fn card(&self, key: &str) -> Result<wire::ProjectCard, Trouble> {
        self.cards()?.into_iter().find(|card| card.key == key).ok_or_else(|| Trouble::missing("project", key))
    }

    fn has_room(&self) -> Result<(), Trouble> {
        let count = self.shelf.projects().map_err(|error| trouble_at(self.shelf.folder(), &error))?.len();
        if count >= MOST_PROJECTS {
            return Err(Trouble::refused(
                format!("the folder holds {count} projects; more are not made here"),
                "Take some away, or begin in another folder",
            ));
        }
        Ok(())
    }

    /// Begins a project.
    pub fn begin(&self, new: &wire::NewProject) -> Result<wire::ProjectCard, Trouble> {
        let unknown = |what: &str, known: &[wire::Choice]| {
            let known: Vec<&str> = known.iter().map(|choice| choice.value.as_str()).collect();
            Trouble::refused(format!("this is no {what}"), format!("Choose one of: {}", known.join(", ")))
        };
        let craft = Craft::from_word(&new.craft).ok_or_else(|| unknown("kind of craft", &crafts()))?;
        let voltage = new.voltage.trim_end_matches(['V', ' ']).parse().ok().and_then(BankVolts::from_number);
        let voltage = voltage.ok_or_else(|| unknown("voltage of a bank", &voltages()))?;
        let rules = match new.rules.as_str() {
            "na" => RuleSet::Na,
            "iec" => RuleSet::Iec,
            _ => return Err(unknown("rule set", &rule_sets())),
        };
        self.has_room()?;
        let text = model::begin(craft, voltage, rules, &new.name, new.usual_loads);
        let begun =
            self.shelf.begin(&new.name, &text).map_err(|error| trouble_at(self.shelf.folder(), &error))?;
        self.card(&begun.key)
    }

    /// Copies a project as a variant of it, under a title of its own.
    pub fn copy(&self, key: &str, new: &wire::NewVariant) -> Result<wire::ProjectCard, Trouble> {
        self.shelf.find(key).map_err(|_| Trouble::missing("project", key))?;
        self.has_room()?;
        let begun =
            self.shelf.copy(key, &new.name).map_err(|error| trouble_at(self.shelf.folder(), &error))?;
        let title = wire::Edit {
            path: vec!["brief".to_owned(), "name".to_owned()],
            value: Some(new.name.trim().to_owned()),
        };
        let label = format!("Variant: {}", new.name.trim());
        let base = self.now(&begun.key)?.number;
        let change =
            wire::Change { base, label, edits: vec![title], with: Vec::new(), over: true, dry: false };
        // A project that cannot be read is copied all the same, under its old title.
        let _ = self.change(&begun.key, &change);
        self.card(&begun.key)
    }
}

fn about(project: &Project) -> String {
    let brief = &project.intent.brief;
    format!("{}, {}, rule set {}", brief.craft, brief.voltage, brief.rules)
}

fn choice(value: &str, title: &str, help: &str, is_usual: bool) -> wire::Choice {
    wire::Choice { value: value.to_owned(), title: title.to_owned(), help: help.to_owned(), is_usual }
}

fn crafts() -> Vec<wire::Choice> {
    Craft::ALL
        .iter()
        .map(|craft| {
            let (title, help) = match craft {
                Craft::Van => {
                    ("Camper van", "A motor vehicle: its engine can charge the bank while it drives.")
                }
                Craft::Boat => ("Boat", "Damp and salt ask for tinned copper, and the rules for boats hold."),
                Craft::Trailer => {
                    ("Trailer", "It has no engine of its own; the towing car may charge a little.")
                }
                Craft::Hut => ("Hut", "It stands still, far from the grid."),
                Craft::Workshop => ("Mobile workshop", "Tools that draw much for a short time."),
            };
            choice(craft.word(), title, help, *craft == Craft::Van)
        })
        .collect()
}

fn voltages() -> Vec<wire::Choice> {
    vec![
        choice("12 V", "12 V", "Most loads for vehicles are made for it. Right up to about 2 kW.", true),
        choice(
            "24 V",
            "24 V",
            "Half the current and thinner cables, for inverters of about 2 to 5 kW.",
            false,
        ),
        choice("48 V", "48 V", "For the largest systems; 12 V loads then need a converter.", false),
    ]
}

fn rule_sets() -> Vec<wire::Choice> {
    vec![
        choice("na", "North America", "Wire sizes in AWG, 120 V 60 Hz.", true),
        choice("iec", "International", "Wire sizes in mm², 230 V 50 Hz.", false),
    ]
}
