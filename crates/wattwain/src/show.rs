//! How things look on a terminal: tables fitted to its width, problems with their line, colour only where it helps.
//! Never: colours anything but a terminal, or one that asked for none (NO_COLOR).
//! Start at [`Screen`].

use std::borrow::Cow;
use std::io::IsTerminal;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, presets};
use model::{Problem, SourceText};

/// Said by every output that a person may act on.
pub const SAFETY: &str = "Mains voltage and large batteries can kill and burn. Local codes and a licensed electrician decide. \
                          Wattwain checks what it is told, not what was built.";

/// Width where there is no terminal to ask.
const USUAL_WIDTH: usize = 110;
/// Narrowest width that tables are laid out for.
const NARROWEST: usize = 40;

/// Where output goes.
pub struct Screen {
    /// Columns.
    pub width: usize,
    is_coloured: bool,
}

impl Screen {
    /// The standard output.
    pub fn stdout() -> Self {
        Self::of(std::io::stdout().is_terminal())
    }

    /// The standard error.
    pub fn stderr() -> Self {
        Self::of(std::io::stderr().is_terminal())
    }

    fn of(is_terminal: bool) -> Self {
        let is_plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
        let width =
            if is_terminal { Table::new().width().map_or(USUAL_WIDTH, usize::from) } else { USUAL_WIDTH };
        Self { width: width.max(NARROWEST), is_coloured: is_terminal && !is_plain }
    }

    fn paint(&self, code: &str, text: &str) -> String {
        if self.is_coloured { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// A heading.
    pub fn heading(&self, text: &str) -> String {
        self.paint("1", text)
    }

    /// Something dangerous.
    pub fn danger(&self, text: &str) -> String {
        self.paint("1;31", text)
    }

    /// Something less important.
    pub fn quiet(&self, text: &str) -> String {
        self.paint("2", text)
    }

    /// A table under its heads. A head that begins with `>` is set to the right, one with `!` is never broken.
    pub fn table(&self, heads: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(self.width).unwrap_or(u16::MAX));
        let words: Vec<String> =
            heads.iter().map(|head| head.trim_start_matches(['>', '!']).to_uppercase()).collect();
        if words.iter().any(|word| !word.is_empty()) {
            table.set_header(words);
        }
        for row in rows {
            table.add_row(row);
        }
        for (index, head) in heads.iter().enumerate() {
            if let Some(column) = table.column_mut(index) {
                column.set_padding((0, 2));
                if head.contains('!') {
                    column.set_constraint(ColumnConstraint::ContentWidth);
                }
                if head.contains('>') {
                    column.set_cell_alignment(CellAlignment::Right);
                }
            }
        }
        table.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
    }

    /// Text wrapped to the width, each line behind `indent`.
    pub fn wrapped(&self, text: &str, indent: &str) -> String {
        let room = self.width.saturating_sub(indent.chars().count()).max(20);
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > room {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
        lines.iter().map(|line| format!("{indent}{line}")).collect::<Vec<_>>().join("\n")
    }

    /// Wrapped text whose first line stands out by the width of a list mark.
    pub fn item(&self, text: &str, indent: &str) -> String {
        let wrapped = self.wrapped(text, &format!("{indent}  "));
        format!("{indent}- {}", wrapped.trim_start())
    }

    fn renderer(&self) -> Renderer {
        let renderer = if self.is_coloured { Renderer::styled() } else { Renderer::plain() };
        renderer.term_width(self.width)
    }
}

/// One word or the other.
pub fn plural(count: usize, one: &'static str, many: &'static str) -> &'static str {
    if count == 1 { one } else { many }
}

/// Something to say about a place in a file.
pub struct Remark<'r> {
    /// `error`, `danger`, `warning`, `advice`.
    pub word: &'r str,
    /// Name of the rule, or empty.
    pub id: &'r str,
    /// What is wrong.
    pub message: &'r str,
    /// Under the marked text.
    pub label: &'r str,
    /// The file and the place in it; `None` where it is in no file.
    pub at: Option<(&'r SourceText, Range<usize>)>,
    /// Lines below: a word such as `why`, and a text.
    pub below: Vec<(&'r str, String)>,
}

/// Lays out a remark: heading, place, the line with the text underlined, then what belongs to it.
pub fn remark(screen: &Screen, remark: &Remark<'_>) -> String {
    let level = match remark.word {
        "error" | "danger" => Level::ERROR,
        "warning" => Level::WARNING,
        _ => Level::INFO,
    };
    let message = one_line(remark.message);
    let mut title = level.with_name(remark.word.to_owned()).primary_title(message.as_ref());
    if !remark.id.is_empty() {
        title = title.id(remark.id);
    }
    let group = match &remark.at {
        Some((source, span)) if !source.text.is_empty() => {
            let (text, line, span) = lines_of(&source.text, span);
            let annotation = AnnotationKind::Primary.span(span).label(one_line(remark.label));
            title.element(
                Snippet::source(text).line_start(line).path(source.name.as_str()).annotation(annotation),
            )
        }
        Some((source, _)) => title.element(Origin::path(source.name.as_str()).line(1).char_column(1)),
        None => Group::with_title(title),
    };
    let mut shown = screen.renderer().render(&[group]).to_string();
    for (word, text) in &remark.below {
        let indent = " ".repeat(11);
        let wrapped = screen.wrapped(text, &indent);
        shown.push_str(&format!(
            "\n  {}{}",
            screen.heading(&format!("{:<9}", format!("{word}:"))),
            wrapped.trim_start()
        ));
    }
    shown
}

/// A problem of a file that was read, with its line.
pub fn problem(screen: &Screen, problem: &Problem, sources: &[SourceText]) -> String {
    let nothing = SourceText { name: problem.file.clone(), text: String::new() };
    let source = sources.iter().find(|source| source.name == problem.file);
    if source.is_none() && (problem.line, problem.column) != (1, 1) {
        return format!(
            "{}: {}\n --> {}:{}:{}\n  mend: {}",
            screen.danger("error"),
            problem.message,
            problem.file,
            problem.line,
            problem.column,
            problem.mend
        );
    }
    remark(
        screen,
        &Remark {
            word: "error",
            id: "",
            message: &problem.message,
            label: &problem.field,
            at: Some((source.unwrap_or(&nothing), problem.span.clone())),
            below: vec![("mend", problem.mend.clone())],
        },
    )
}

/// The lines that a span touches, the number of the first and the span within them; one line where it runs over several.
fn lines_of<'t>(text: &'t str, span: &Range<usize>) -> (&'t str, usize, Range<usize>) {
    let floor = |at: usize| (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
    let (start, end) = (floor(span.start), floor(span.end.max(span.start)));
    let before = text.get(..start).unwrap_or_default();
    let from = before.rfind('\n').map_or(0, |at| at + 1);
    let to = text.get(start..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| start + at);
    let number = before.matches('\n').count() + 1;
    let line = text.get(from..to).unwrap_or_default();
    (line, number, start - from..end.min(to).max(start) - from)
}

/// A message without line breaks or other control characters, so that it stays a heading.
fn one_line(text: &str) -> Cow<'_, str> {
    if text.contains(char::is_control) { text.replace(char::is_control, " ").into() } else { text.into() }
}
