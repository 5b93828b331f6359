//! Door cards: every way of every panel once, with what it feeds; print that can be read; nothing over words.
//! Never: judges a fuse.
//! Start at [`every_way_is_on_a_card`].

mod drawn;

use drawing::{SAFETY, door_cards, rating};
use drawn::{examples, look};
use model::Spec;

#[test]
fn every_way_is_on_a_card() {
    for (name, system, _) in examples() {
        let cards = door_cards(&system);
        let trees: Vec<_> =
            cards.iter().map(|card| roxmltree::Document::parse(card).expect("well-formed")).collect();
        let panels =
            system.devices.iter().filter(|d| matches!(d.spec, Spec::FusePanel(_) | Spec::AcPanel(_))).count();
        assert!(cards.len() >= panels, "{name}");
        for (ix, device) in system.devices.iter().enumerate() {
            let panel = match &device.spec {
                Spec::Fuse(fuse) => fuse.panel,
                Spec::Breaker(breaker) => breaker.panel,
                _ => None,
            };
            let groups: Vec<_> = trees
                .iter()
                .flat_map(|tree| tree.descendants())
                .filter(|node| node.attribute("data-device") == Some(device.id.as_str()))
                .collect();
            assert_eq!(groups.len(), usize::from(panel.is_some()), "{name}: {}", device.id);
            let Some(group) = groups.first() else { continue };
            let said: Vec<&str> =
                group.children().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
            let said = said.join(" ");
            assert!(said.contains(&rating(device).join(", ")), "{name}: {said}");
            let circuit = system.circuits.iter().find(|c| c.protection.contains(&ix)).expect("a circuit");
            let served = &system.devices[circuit.serves[0]].title;
            let first = served.split(' ').next().expect("a word");
            assert!(said.contains(first), "{name}: {said} does not tell {served}");
            let is_vital = circuit
                .serves
                .iter()
                .any(|served| matches!(&system.devices[*served].spec, Spec::Load(load) if load.critical));
            assert_eq!(said.contains("put it back first"), is_vital, "{name}: {said}");
        }
    }
}

#[test]
fn cards_are_of_a_standard_size_and_can_be_read() {
    for (name, system, _) in examples() {
        for (page, card) in drawing::door_plates(&system).iter().enumerate() {
            // ISO 216: A5 and A6.
            assert!([(210.0, 148.0), (148.0, 105.0)].contains(&(card.width, card.height)), "{name}");
            let over = card.texts_over_texts();
            assert!(over.is_empty(), "{name}, card {page}: {over:?}");
            for (words, rect) in card.texts() {
                // 6 pt of 1/72 inch.
                assert!(words.size >= 6.0 * 25.4 / 72.0, "{name}: {:?}", words.text);
                assert!(!words.text.contains('…'), "{name}: {:?} is cut", words.text);
                let is_inside = rect.x >= 3.0
                    && rect.y >= 3.0
                    && rect.right() <= card.width - 3.0
                    && rect.bottom() <= card.height - 3.0;
                assert!(is_inside, "{name}: {:?} leaves the card", words.text);
            }
            let svg = card.svg(SAFETY);
            let said: Vec<&str> = card.texts().map(|(words, _)| words.text.as_str()).collect();
            assert!(said.join(" ").contains(SAFETY), "{name}");
            look(&format!("door-{name}-{}", page + 1), &svg, 1600);
        }
    }
}

#[test]
fn the_bank_is_opened_last() {
    let (heron, _) = drawn::example("heron");
    let card = &door_cards(&heron)[0];
    let at = |words: &str| card.find(words).unwrap_or_else(|| panic!("{words} is not on the card"));
    assert!(
        at("Pull the plug") < at("Open: Roof disconnect")
            && at("Open: Roof disconnect") < at("Open: Main disconnect")
    );
    assert_eq!(door_cards(&heron), door_cards(&heron));
}
