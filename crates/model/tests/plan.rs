//! What a person writes about the plan of the vehicle: read whole, and every slip told where it stands.
#![allow(clippy::unwrap_used)]

use model::{Project, SourceText};

const HEAD: &str = "[brief]\nname = \"B\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"12 V\"\n\
    [loads.fan]\npower = \"5 W\"\n[solar.fan]\nmodule = \"module-200w\"\n[loads.pump]\npower = \"40 W\"\n\
    [plan]\nlength = \"4 m\"\nwidth = \"6 ft\"\nheight = \"1.9 m\"\n";

fn read(plan: &str) -> Result<Project, Vec<model::Problem>> {
    let source = SourceText { name: "intent.toml".to_owned(), text: format!("{HEAD}{plan}") };
    Project::read(source, model::library::builtin().clone())
}

#[track_caller]
fn refused(plan: &str, field: &str, says: &str) {
    let problems = read(plan).unwrap_err();
    let problem = problems
        .iter()
        .find(|problem| problem.field == field)
        .unwrap_or_else(|| panic!("no problem at {field}: {problems:#?}"));
    assert!(problem.message.contains(says), "{}", problem.message);
    assert!(problem.line > 11 && !problem.mend.is_empty(), "{problem:#?}");
}

const SPOT: &str = "x = \"1 m\", y = \"1 m\", z = \"10 cm\"";

#[test]
fn a_whole_plan_is_read() {
    let project = read(&format!(
        "[plan.points]\nboard = {{ {SPOT} }}\npump = {{ {SPOT} }}\nvent = {{ {SPOT}, is = \"loads.fan\" }}\n\
         tank = {{ {SPOT}, mass = \"80 kg\" }}\n\
         [plan.channels.sill]\npoints = [{{ {SPOT} }}, {{ x = \"2 m\", y = \"1 m\", z = \"-20 cm\" }}]\nsupport = \"18 in\"\n\
         [plan.walls.bulkhead]\nfrom = {{ x = \"3 m\", y = \"0 m\", z = \"0 m\" }}\nto = {{ x = \"3 m\", y = \"1.8 m\", z = \"1 m\" }}\n\
         thickness = \"1 mm\"\nmaterial = \"steel\"\n\
         [plan.axles]\nrear = {{ x = \"0.9 m\", most = \"1900 kg\" }}\nfront = {{ x = \"3.9 m\" }}\n"
    ))
    .unwrap();
    let plan = project.intent.plan.as_ref().unwrap();
    let stands_for = |name: &str| {
        let name = model::Name::new(name).unwrap();
        plan.stands_for(&project.intent, &name, &plan.points[&name])
    };
    assert_eq!(stands_for("vent").as_deref(), Some("loads.fan"));
    assert_eq!(stands_for("pump").as_deref(), Some("loads.pump"));
    assert_eq!((stands_for("board").as_deref(), stands_for("tank")), (Some("board"), None));
    assert!((plan.width.get() - 1.8288).abs() < 1e-12);
}

#[test]
fn slips_are_told_where_they_stand() {
    refused(
        &format!("[plan.points]\nfan = {{ {SPOT} }}\n"),
        "plan.points.fan",
        "may be loads.fan or solar.fan",
    );
    refused(
        &format!("[plan.points]\npump = {{ {SPOT} }}\nother = {{ {SPOT}, is = \"loads.pump\" }}\n"),
        "plan.points.pump",
        "both stand for",
    );
    refused(
        "[plan.points]\npump = { x = \"9 m\", y = \"1 m\", z = \"0 m\" }\n",
        "plan.points.pump",
        "outside the plan",
    );
    refused(
        &format!("[plan.channels.sill]\npoints = [{{ {SPOT} }}]\n"),
        "plan.channels.sill.points",
        "1 points",
    );
    refused(
        &format!(
            "[plan.walls.w]\nfrom = {{ {SPOT} }}\nto = {{ x = \"2 m\", y = \"2 m\", z = \"1 m\" }}\nthickness = \"1 mm\"\nmaterial = \"wood\"\n"
        ),
        "plan.walls.w",
        "square to an axis",
    );
    refused("[plan.axles]\nrear = { x = \"1 m\" }\n", "plan.axles", "1 axles");
    refused(
        &format!("[plan.points]\npump = {{ {SPOT}, mass = \"-1 kg\" }}\n"),
        "plan.points.pump.mass",
        "no possible",
    );
}
