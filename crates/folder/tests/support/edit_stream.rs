//! Edits a project without end and prints each change once it is acknowledged: `edit_stream FOLDER RUN`.
//! Each line: `saved NUMBER COUNT` for the text of that run and count, or `at NUMBER` for a step back, forward or aside.

#![allow(clippy::print_stdout, clippy::print_stderr)] // printing is all it is for

use std::io::Write;
use std::path::Path;

use folder::{Document, Error, Expected, Store};

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let [_, folder, run] = args.as_slice() else {
        eprintln!("edit_stream FOLDER RUN");
        std::process::exit(2);
    };
    if let Err(error) = edit(Path::new(folder), run) {
        eprintln!("{error}");
        std::process::exit(1);
    }
}

fn edit(folder: &Path, run: &str) -> Result<(), Error> {
    let mut store = Store::open(folder)?;
    let mut out = std::io::stdout().lock();
    for count in 0_u64.. {
        let document = if count % 5 == 3 { Document::Ticks } else { Document::Intent };
        let said = match count % 7 {
            4 => store.back()?.map(|saved| format!("at {}", saved.state.number)),
            5 => store.forward()?.map(|saved| format!("at {}", saved.state.number)),
            6 => {
                let first = store.states().first().map_or(1, |state| state.number);
                Some(format!("at {}", store.go_to(first)?.state.number))
            }
            _ => {
                let text = text(run, count);
                let saved = store.save(document, Expected::Number(store.number()), &text, "An edit")?;
                Some(format!("saved {} {count} {}", saved.state.number, document.file()))
            }
        };
        // Whoever reads may have gone; then there is nothing to acknowledge.
        if let Some(said) = said
            && writeln!(out, "{said}").and_then(|()| out.flush()).is_err()
        {
            break;
        }
    }
    Ok(())
}

include!("stream_text.inc");
