//! `faults`: what a bolted short circuit does at a place, or all places with their currents and what opens.
//! Never: computes anything itself (see `rules::fault_story`).
//! Start at [`run`].

use model::{Pole, System, read};
use quantity::Amps;
use rules::{Case, FaultPlace, FaultStory, Opening};
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::FaultsArgs;
use crate::show::{SAFETY, Screen};

/// Tells it.
pub fn run(args: &FaultsArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let system = ::board::derived(&project).system;
    let results = network::study(&system);
    let case = Case::new(&system, &results, None);
    let places = rules::fault_places(&case);
    let Some(asked) = &args.place else {
        let stories: Vec<(&FaultPlace, Vec<String>)> = places
            .iter()
            .map(|place| {
                let opens = rules::fault_story(&case, place.at).map(|story| story.opens).unwrap_or_default();
                (place, opens.into_iter().map(|opening| opening.device).collect())
            })
            .collect();
        if json {
            let rows: Vec<_> =
                stories.iter().map(|(place, opens)| json!({ "place": place, "opens": opens })).collect();
            return Answer::json(
                &json!({ "safety": SAFETY, "project": project.source.name, "places": rows }),
            );
        }
        let rows = stories.iter().map(|(place, opens)| {
            let opens = if opens.is_empty() { "nothing".to_owned() } else { opens.join(", ") };
            vec![place.place.clone(), amps(place.most), amps(place.least), opens]
        });
        let table = screen.table(&["!place", ">largest", ">smallest", "opens first"], rows);
        return Ok(Answer::text(format!(
            "{}\n{}\n\n{table}\n\nAsk for any of these to hear what happens there.",
            screen.heading(&format!("{}: short circuits", system.name)),
            screen.wrapped(SAFETY, "")
        )));
    };
    let place = find(&system, &places, asked).ok_or_else(|| unknown(&system, &places, asked))?;
    let Some(story) = rules::fault_story(&case, place.at) else {
        return Err(unknown(&system, &places, asked));
    };
    if json {
        return Answer::json(&json!({ "safety": SAFETY, "project": project.source.name, "story": story }));
    }
    Ok(Answer::text(told(screen, &system, &story)))
}

/// The place of a name: a terminal, the first of a device, or the far end of a conductor.
fn find<'p>(system: &System, places: &'p [FaultPlace], asked: &str) -> Option<&'p FaultPlace> {
    let far =
        system.conductors.iter().find(|conductor| conductor.id == asked && conductor.pole == Pole::Positive);
    places
        .iter()
        .find(|place| place.place == asked)
        .or_else(|| places.iter().find(|place| Some(place.at) == far.map(|conductor| conductor.to)))
        .or_else(|| places.iter().find(|place| place.device == asked))
}

fn unknown(system: &System, places: &[FaultPlace], asked: &str) -> Failure {
    let is_there = system.devices.iter().any(|device| device.id == asked)
        || system.conductors.iter().any(|conductor| conductor.id == asked);
    let what = if is_there {
        format!("no direct-current source reaches a positive terminal of `{asked}`")
    } else {
        format!("there is no place `{asked}`")
    };
    let conductors = system.conductors.iter().filter(|conductor| conductor.pole == Pole::Positive);
    let known = places
        .iter()
        .flat_map(|place| [place.place.as_str(), place.device.as_str()])
        .chain(conductors.map(|conductor| conductor.id.as_str()));
    let mend = match read::nearest(asked, known) {
        Some(near) if !is_there => format!("Did you mean `{near}`? Without a place, all are listed"),
        _ => "Leave the place out to list all that can be asked".to_owned(),
    };
    Failure::plain(what, "", mend)
}

fn amps(amps: Option<Amps>) -> String {
    amps.map_or_else(|| "-".to_owned(), |amps| amps.to_string())
}

fn told(screen: &Screen, system: &System, story: &FaultStory) -> String {
    let mut blocks = vec![format!(
        "{}\n{}",
        screen.heading(&format!(
            "{}: short circuit at {} ({})",
            system.name, story.place.place, story.place.title
        )),
        screen.wrapped(SAFETY, "")
    )];
    blocks.push(format!(
        "Largest {} with a charged bank and every source feeding; smallest {} with the bank alone, cold and low.",
        amps(story.place.most),
        amps(story.place.least)
    ));
    if !story.dangers.is_empty() {
        let dangers: Vec<String> = story
            .dangers
            .iter()
            .map(|danger| screen.item(&format!("{} {danger}", screen.danger("danger:")), ""))
            .collect();
        blocks.push(dangers.join("\n"));
    }
    let rows = story.sources.iter().map(|source| {
        let way: Vec<&str> = source.way.iter().map(|step| step.id.as_str()).collect();
        vec![
            source.device.clone(),
            amps(source.most),
            amps(source.least),
            source.opens.as_ref().map_or_else(|| "nothing".to_owned(), |opens| opens.device.clone()),
            way.join(" > "),
        ]
    });
    blocks.push(screen.table(&["!source", ">gives", ">at least", "opens first", "way"], rows));
    let opens: Vec<String> =
        story.opens.iter().map(|opening| screen.item(&open_words(opening), "")).collect();
    if !opens.is_empty() {
        blocks.push(format!("{}\n{}", screen.heading("What opens"), opens.join("\n")));
    }
    let notes: Vec<String> = story.notes.iter().map(|note| screen.item(note, "")).collect();
    if !notes.is_empty() {
        blocks.push(notes.join("\n"));
    }
    let rows = story.conductors.iter().map(|conductor| {
        let stands = match conductor.stands {
            Some(true) => "stands it",
            Some(false) => "does not stand it",
            None => "not known",
        };
        let heat = conductor.heat_a2s.map_or_else(|| "-".to_owned(), |heat| format!("{heat:.0}"));
        vec![
            conductor.id.clone(),
            conductor.most.to_string(),
            heat,
            format!("{:.0}", conductor.stands_a2s),
            stands.to_owned(),
        ]
    });
    if !story.conductors.is_empty() {
        blocks
            .push(screen.table(&["!conductor", ">carries", ">A²s until clear", ">A²s it stands", ""], rows));
    }
    let list = |head: &str, items: Vec<String>| {
        let items = if items.is_empty() { "nothing".to_owned() } else { items.join(", ") };
        screen.wrapped(&format!("{head}: {items}."), "")
    };
    blocks.push(list("Goes dark", story.dark.iter().map(|dark| dark.device.clone()).collect()));
    let still = story.still.iter().map(|still| match still.supply {
        rules::Supply::Bank => still.device.clone(),
        supply => format!("{} ({})", still.device, supply.word()),
    });
    blocks.push(list("Goes on", still.collect()));
    blocks.push(story.because.iter().map(|step| screen.item(step, "")).collect::<Vec<_>>().join("\n"));
    let cites: Vec<String> = story
        .cite
        .iter()
        .map(|cite| screen.quiet(&format!("[{}: {}, {}]", cite.source, cite.row, cite.provenance)))
        .collect();
    blocks.push(cites.join("\n"));
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n\n")
}

fn open_words(opening: &Opening) -> String {
    let through = opening.most.or(opening.least).map_or_else(String::new, |amps| format!(" with {amps}"));
    format!("{} ({}){through}: {}", opening.device, opening.rating, opening.words)
}
