//! Short circuits: where one can be supposed, and what it does there.
//! Never: solves one; [`rules::fault_story`] does.
//! Start at [`fault_places`] and [`fault`].

use rules::{Case, FaultPlace, FaultStory, Opening, SourceStory};

use crate::{Stand, wire};

/// Every place that a direct-current source reaches, from the bank outwards.
pub fn fault_places(stand: &Stand) -> Vec<wire::FaultPlace> {
    rules::fault_places(&case(stand)).iter().map(place).collect()
}

/// What a short circuit at a terminal does; `None` where there is no such place.
pub fn fault(stand: &Stand, terminal: &str) -> Option<wire::FaultStory> {
    let at = stand.system.find_terminal(terminal)?;
    let story = rules::fault_story(&case(stand), at)?;
    Some(wire::FaultStory {
        place: place(&story.place),
        summary: summary(&story),
        ways: story.sources.iter().map(way).collect(),
        dark: story.dark.iter().map(|dark| named(&dark.device, &dark.title)).collect(),
        still: story
            .still
            .iter()
            .map(|still| match still.supply {
                rules::Supply::Bank => named(&still.device, &still.title),
                supply => named(&still.device, &format!("{} ({})", still.title, supply.word())),
            })
            .collect(),
        heated: story.conductors.iter().map(|conductor| heated(stand, conductor)).collect(),
        because: story.notes.iter().chain(&story.because).cloned().collect(),
        sources: story.cite.iter().map(ToString::to_string).collect(),
    })
}

fn case(stand: &Stand) -> Case<'_> {
    Case::new(&stand.system, &stand.results, stand.study.as_deref())
}

fn named(id: &str, title: &str) -> wire::Named {
    wire::Named { id: id.to_owned(), title: title.to_owned() }
}

fn place(place: &FaultPlace) -> wire::FaultPlace {
    let amps = |amps: Option<quantity::Amps>| amps.map_or_else(|| "–".to_owned(), |amps| amps.to_string());
    wire::FaultPlace {
        terminal: place.place.clone(),
        device: place.device.clone(),
        title: place.title.clone(),
        most: amps(place.most),
        least: amps(place.least),
    }
}

fn summary(story: &FaultStory) -> String {
    if let Some(danger) = story.dangers.first() {
        return danger.clone();
    }
    let opens: Vec<&str> = story.opens.iter().map(|opening| opening.title.as_str()).collect();
    let loads = story.dark.iter().filter(|dark| dark.is_load).count();
    let opens = match opens.as_slice() {
        [] => "Nothing opens".to_owned(),
        [one] => format!("{one} opens"),
        many => format!("{} open", many.join(" and ")),
    };
    format!(
        "{opens}; {loads} {} dark, {} on",
        if loads == 1 { "load goes" } else { "loads go" },
        match story.still.len() {
            0 => "none goes".to_owned(),
            1 => "1 goes".to_owned(),
            count => format!("{count} go"),
        }
    )
}

fn way(source: &SourceStory) -> wire::FaultWay {
    let opens = source.opens.as_ref().or(source.opens_at_least.as_ref());
    let opening = |opening: &Opening| named(&opening.device, &opening.title);
    let current = match (source.most, source.least) {
        (Some(most), Some(least)) if most != least => format!("{least} to {most}"),
        (Some(amps), _) | (None, Some(amps)) => amps.to_string(),
        (None, None) => "–".to_owned(),
    };
    // A source whose own make limits it hurts nobody through a cable that carries what it gives.
    let is_uncleared = source.opens.is_none() && !source.is_limited && source.most.is_some();
    wire::FaultWay {
        source: named(&source.device, &source.title),
        through: source.way.iter().map(|step| step.id.clone()).collect(),
        current,
        opens: opens.map(opening),
        when: opens.map_or_else(String::new, |opening| opening.words.clone()),
        may_open: source.may_open_too.iter().map(opening).collect(),
        is_danger: is_uncleared || source.opens.as_ref().is_some_and(|opening| !opening.interrupts),
    }
}

fn heated(stand: &Stand, conductor: &rules::FaultConductor) -> wire::Heated {
    let found = stand.system.conductors.iter().find(|known| known.id == conductor.id);
    let title =
        found.map_or_else(|| conductor.id.clone(), |found| super::diagram::title(&stand.system, found));
    let stands = match (conductor.stands, conductor.heat_a2s) {
        (Some(true), Some(heat)) if heat < 1.0 => "stands it with ease".to_owned(),
        (Some(true), Some(heat)) => {
            format!("stands it: {heat:.0} A²s of {:.0} A²s", conductor.stands_a2s)
        }
        (Some(false), Some(heat)) => {
            format!("does not stand it: {heat:.0} A²s, it stands {:.0} A²s", conductor.stands_a2s)
        }
        (Some(true), None) => "stands it".to_owned(),
        (Some(false), None) => "does not stand it".to_owned(),
        (None, _) => "how long it lasts is not known".to_owned(),
    };
    wire::Heated {
        conductor: named(&conductor.id, &title),
        text: format!("{} at most; {stands}", conductor.most),
        withstands: conductor.stands != Some(false),
    }
}
