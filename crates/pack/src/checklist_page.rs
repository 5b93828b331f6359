//! The build order as one page for a phone: boxes to tick, readings with their bands; the browser keeps them, a file carries them.
//! Never: fetches anything, puts a text in as markup, says what is not in the steps.
//! Start at [`checklist_page`]; `data/checklist.css` and `data/checklist.js` are its looks and its memory.

use std::fmt::Write;

use crate::markup::escaped;
use crate::order::{BuildOrder, Measure, Stage, Step, bounds};

const STYLE: &str = include_str!("../data/checklist.css");
const SCRIPT: &str = include_str!("../data/checklist.js");
/// SHA-256 of the two, so that the page's policy lets in these and nothing else. A test computes them.
const STYLE_HASH: &str = "sha256-suvNunRq8s3okBoDZn4itjywvIONNrSacCDAjtimQWY=";
const SCRIPT_HASH: &str = "sha256-5cjeNNphkfyR1BQe69aBSAMvIGRrJ/z0QeQY77Xzqkk=";

/// The page as HTML that needs nothing beside it. The same order gives the same bytes.
///
/// Ticks are kept under the project's name and a digest of the list, so that a changed step is not taken for done.
pub fn checklist_page(name: &str, order: &BuildOrder) -> String {
    let list = list(order);
    let name = escaped(name);
    let mut page = String::with_capacity(list.len() + STYLE.len() + SCRIPT.len() + 4096);
    // Writing into a String cannot fail.
    let _ = write!(
        page,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src '{SCRIPT_HASH}'; \
         style-src '{STYLE_HASH}'; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n\
         <title>Checklists of {name}</title>\n<style>{STYLE}</style>\n</head>\n\
         <body data-show=\"all\">\n<main data-project=\"{name}\" data-list=\"{digest:016x}\">\n\
         <p class=\"safety\">{safety}</p>\n<h1>Checklists of {name}</h1>\n",
        digest = digest(&list),
        safety = escaped(&order.safety),
    );
    page.push_str(
        "<p>Work from top to bottom. Go on only when every reading of a step is in order.</p>\n\
         <p class=\"screen quiet\">Ticks and readings stay in this browser, under this list. \
         Export them before you change the phone or clear its data.</p>\n\
         <noscript><p class=\"caution\">Without scripts nothing is kept: print the list and tick it on paper.</p></noscript>\n\
         <div class=\"bar\"><div><p><span id=\"count\"></span> ticked</p>\
         <progress id=\"progress\" max=\"1\" value=\"0\" aria-label=\"Ticked\"></progress></div>\
         <button type=\"button\" id=\"next\">Next to do</button></div>\n",
    );
    stages(&mut page, order);
    page.push_str(
        "<fieldset class=\"screen\"><legend>Show</legend>\n\
         <label class=\"tick\"><input type=\"radio\" name=\"show\" id=\"show-all\" value=\"all\" checked>everything</label>\n\
         <label class=\"tick\"><input type=\"radio\" name=\"show\" value=\"open\">what is open</label>\n\
         <label class=\"tick\"><input type=\"radio\" name=\"show\" value=\"readings\">readings</label></fieldset>\n\
         <div class=\"tools screen\"><button type=\"button\" id=\"export\">Export</button>\
         <label class=\"file\">Import …<input type=\"file\" id=\"import\" accept=\".json,application/json\"></label>\
         <button type=\"button\" id=\"print\">Print …</button><button type=\"button\" id=\"clear\">Clear …</button>\
         <button type=\"button\" id=\"take\" hidden>Take over ticks of an earlier list</button></div>\n\
         <p id=\"said\" class=\"screen\" role=\"status\"></p>\n",
    );
    page.push_str(&list);
    let _ = write!(page, "</main>\n<script>{SCRIPT}</script>\n</body>\n</html>\n");
    page
}

/// FNV-1a of 64 bits (Fowler, Noll and Vo): enough to tell versions of one list apart; nothing is trusted because of it.
fn digest(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

fn steps_of(order: &BuildOrder, stage: Stage) -> Vec<&Step> {
    order.steps.iter().filter(|step| step.stage == stage).collect()
}

fn stages(page: &mut String, order: &BuildOrder) {
    page.push_str("<nav class=\"screen\" aria-label=\"Stages\"><ul>\n");
    for stage in Stage::ALL.into_iter().filter(|stage| !steps_of(order, *stage).is_empty()) {
        let word = stage.word();
        let _ = writeln!(
            page,
            "<li><a href=\"#{word}\">{}<span class=\"quiet\" data-stage=\"{word}\"></span></a></li>",
            stage.title()
        );
    }
    page.push_str("</ul></nav>\n");
}

fn list(order: &BuildOrder) -> String {
    let mut text = String::new();
    for stage in Stage::ALL {
        let steps = steps_of(order, stage);
        if steps.is_empty() {
            continue;
        }
        let _ = writeln!(text, "<section id=\"{}\">\n<h2>{}</h2>", stage.word(), stage.title());
        steps.iter().for_each(|step| one(&mut text, step));
        text.push_str("</section>\n");
    }
    text
}

fn one(text: &mut String, step: &Step) {
    let none = if step.measures.is_empty() { " has-none" } else { "" };
    let _ = writeln!(
        text,
        "<article class=\"step{none}\">\n<label class=\"tick\"><input type=\"checkbox\" data-tick=\"{}\">\
         <span><strong>{}. {}</strong></span></label>",
        escaped(&step.id),
        step.number,
        escaped(&step.title)
    );
    for caution in &step.cautions {
        let _ = writeln!(text, "<p class=\"caution\">Caution: {}</p>", escaped(caution));
    }
    text.push_str("<div class=\"words\">\n");
    let mut told = |head: &str, said: &str| {
        let head = if head.is_empty() { String::new() } else { format!("<strong>{head}</strong> ") };
        let _ = writeln!(text, "<p>{head}{}</p>", escaped(said));
    };
    if step.people > 1 {
        told("Hands:", &format!("{} people.", step.people));
    }
    if !step.dead.is_empty() {
        told("Dead:", &format!("{}.", step.dead.join("; ")));
    }
    if !step.live.is_empty() {
        told("Live all the same:", &format!("{}.", step.live.join(", ")));
    }
    step.lines.iter().for_each(|line| told("", line));
    if !step.tools.is_empty() {
        told("Tools:", &format!("{}.", step.tools.join(", ")));
    }
    if !step.why.is_empty() {
        told("Why:", &step.why);
    }
    text.push_str("</div>\n");
    step.measures.iter().for_each(|measure| reading(text, step, measure));
    if let Some(wait) = &step.wait {
        let _ = writeln!(
            text,
            "<p><strong>Wait:</strong> {}, {}.</p>",
            escaped(&wait.least.to_string()),
            escaped(&wait.what)
        );
    }
    text.push_str("</article>\n");
}

/// Terminals of a reading that are named; where there are more, they are counted.
const ENDS_SHOWN: usize = 2;

fn reading(text: &mut String, step: &Step, measure: &Measure) {
    let at = if measure.at.len() <= ENDS_SHOWN {
        measure.at.join(" to ")
    } else {
        format!("{} ends", measure.at.len())
    };
    // A measure's id may stand in two steps: it is read before and after.
    let id = escaped(&format!("{} / {}", step.id, measure.id));
    let _ = write!(
        text,
        "<div class=\"measure\">\n<label class=\"tick\"><input type=\"checkbox\" data-tick=\"{id}\">\
         <span>Measure {} at {}: {}",
        escaped(&measure.what),
        escaped(&at),
        escaped(&measure.expect)
    );
    let band = bounds(measure);
    if !band.is_empty() {
        let _ = write!(text, " <span class=\"band\">{}</span>", escaped(&band));
    }
    text.push_str("</span></label>\n");
    if measure.low.is_some() || measure.high.is_some() {
        let _ = writeln!(
            text,
            "<label class=\"reading\">Read <input type=\"text\" maxlength=\"60\" autocomplete=\"off\" data-reading=\"{id}\" \
             aria-label=\"Reading of {} at {}\"></label>",
            escaped(&measure.what),
            escaped(&at)
        );
    }
    text.push_str("</div>\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    use base64::Engine;
    use sha2::Digest;

    #[test]
    fn the_policy_lets_in_the_page_s_own_style_and_script() {
        for (text, stated) in [(STYLE, STYLE_HASH), (SCRIPT, SCRIPT_HASH)] {
            let hash = base64::engine::general_purpose::STANDARD.encode(sha2::Sha256::digest(text));
            assert_eq!(stated, format!("sha256-{hash}"));
            // Either would end its element early.
            assert!(!text.contains("</s"), "{text}");
        }
    }

    #[test]
    fn the_digest_is_the_published_one() {
        // Test values of the authors of FNV (draft-eastlake-fnv, appendix on test vectors, from memory).
        assert_eq!(digest(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(digest("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(digest("foobar"), 0x8594_4171_f739_67e8);
    }
}
