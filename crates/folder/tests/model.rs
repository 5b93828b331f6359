//! Random edits, undo, redo, jumps, edits from outside and restarts, against a history that is only a list in memory.

#![allow(clippy::unwrap_used)] // tests may panic

use std::fs;

use folder::{Document, Expected, Store};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Step {
    Save(usize, u8),
    Back,
    Forward,
    GoTo(usize),
    Outside(usize, u8),
    Restart,
    Other(usize, u8),
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (0..3_usize, 0..6_u8).prop_map(|(document, text)| Step::Save(document, text)),
        3 => Just(Step::Back),
        2 => Just(Step::Forward),
        1 => (0..1000_usize).prop_map(Step::GoTo),
        2 => (0..3_usize, 0..6_u8).prop_map(|(document, text)| Step::Outside(document, text)),
        1 => Just(Step::Restart),
        1 => (0..3_usize, 0..6_u8).prop_map(|(document, text)| Step::Other(document, text)),
    ]
}

/// What a person expects of a history, written as plainly as can be. State `n` stands at `n - 1`.
struct Plain {
    states: Vec<([String; 3], Option<usize>)>,
    /// For each state the child that is the way forward.
    forward: Vec<Option<usize>>,
    at: usize,
}

impl Plain {
    fn change(&mut self, document: usize, text: &str) {
        let mut texts = self.states[self.at].0.clone();
        if texts[document] == text {
            return;
        }
        text.clone_into(&mut texts[document]);
        self.states.push((texts, Some(self.at)));
        self.forward.push(None);
        let new = self.states.len() - 1;
        self.forward[self.at] = Some(new);
        self.at = new;
    }

    fn go(&mut self, to: usize) {
        self.at = to;
        let mut child = to;
        while let Some(parent) = self.states[child].1 {
            self.forward[parent] = Some(child);
            child = parent;
        }
    }
}

fn text(word: u8) -> String {
    format!("text {word}\n")
}

proptest! {
    // Each step waits for the disk, so few cases of many steps.
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, ..ProptestConfig::default() })]
    #[test]
    fn a_store_does_what_a_list_of_states_does(steps in proptest::collection::vec(step(), 1..40)) {
        let folder = tempfile::tempdir().unwrap();
        let path = |document: usize| folder.path().join(Document::ALL[document].file());
        fs::write(path(0), text(0)).unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let mut plain = Plain {
            states: vec![([text(0), String::new(), String::new()], None)],
            forward: vec![None],
            at: 0,
        };
        for step in steps {
            match &step {
                Step::Save(document, word) => {
                    let number = store.number();
                    let saved =
                        store.save(Document::ALL[*document], Expected::Number(number), &text(*word), "step").unwrap();
                    prop_assert!(saved.overtaken.is_empty());
                    plain.change(*document, &text(*word));
                }
                Step::Back => {
                    let went = store.back().unwrap().is_some();
                    let parent = plain.states[plain.at].1;
                    prop_assert_eq!(went, parent.is_some());
                    if let Some(parent) = parent {
                        plain.go(parent);
                        prop_assert!(store.can_go_forward().is_some());
                    }
                }
                Step::Forward => {
                    let went = store.forward().unwrap().is_some();
                    let child = plain.forward[plain.at];
                    prop_assert_eq!(went, child.is_some());
                    if let Some(child) = child {
                        plain.go(child);
                    }
                }
                Step::GoTo(any) => {
                    let to = any % plain.states.len();
                    store.go_to(to as u64 + 1).unwrap();
                    plain.go(to);
                }
                Step::Outside(document, word) => {
                    fs::write(path(*document), text(*word)).unwrap();
                    let is_new = plain.states[plain.at].0[*document] != text(*word);
                    let seen = store.look().unwrap();
                    prop_assert_eq!(seen.is_some(), is_new);
                    plain.change(*document, &text(*word));
                }
                Step::Restart => store = Store::open(folder.path()).unwrap(),
                Step::Other(document, word) => {
                    let mut other = Store::open(folder.path()).unwrap();
                    let number = other.number();
                    other.save(Document::ALL[*document], Expected::Number(number), &text(*word), "step").unwrap();
                    let is_new = plain.states[plain.at].0[*document] != text(*word);
                    prop_assert_eq!(store.look().unwrap().is_some(), is_new);
                    plain.change(*document, &text(*word));
                }
            }
            prop_assert_eq!(store.number(), plain.at as u64 + 1, "after {:?}", step);
            prop_assert_eq!(store.states().len(), plain.states.len());
            prop_assert!(store.notes().is_empty(), "{:?}", store.notes());
            for (document, at) in Document::ALL.into_iter().zip(0..) {
                let want = &plain.states[plain.at].0[at];
                prop_assert_eq!(&store.text(document).text, want);
                prop_assert_eq!(&fs::read_to_string(path(at)).unwrap_or_default(), want);
                for (number, (texts, _)) in plain.states.iter().enumerate() {
                    prop_assert_eq!(store.text_at(number as u64 + 1, document), Some(texts[at].as_str()));
                }
            }
        }
    }
}
