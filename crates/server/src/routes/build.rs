//! The workshop: steps, ticks, readings, papers.
//! Never: lets a paper do anything but be looked at.
//! Start at [`build`].

use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use folder::Document;
use model::SourceText;

use super::{App, At, Shared};
use crate::answer::{Answer, Asked, Trouble};
use crate::desk::seat::Now;
use crate::guard::DOCUMENT_POLICY;
use crate::{tell, wire};

fn built(now: &Now) -> Result<wire::Build, Trouble> {
    let source = |document: Document| SourceText {
        name: document.file().to_owned(),
        text: now.text(document).to_string(),
    };
    Ok(tell::build(now.stand()?, now.number, &source(Document::Readings), &source(Document::Ticks)))
}

/// What there is to build, with what is done
#[utoipa::path(get, path = "/api/projects/{key}/build", tag = "workshop", params(("key" = String, Path)), responses((status = 200, body = wire::Build)))]
pub async fn build(State(app): Shared, At(key): At<String>) -> Answer<wire::Build> {
    app.answer(move |app| built(&*app.desk.now(&key)?)).await
}

/// Tick something off, or take the tick away
#[utoipa::path(post, path = "/api/projects/{key}/ticks", tag = "workshop", params(("key" = String, Path)), request_body = wire::Tick, responses((status = 200, body = wire::Build)))]
pub async fn tick(
    State(app): Shared,
    At(key): At<String>,
    Asked(tick): Asked<wire::Tick>,
) -> Answer<wire::Build> {
    app.answer(move |app: &App| {
        let label = if tick.done { format!("Done: {}", tick.id) } else { format!("Not done: {}", tick.id) };
        let now = app.desk.note(&key, Document::Ticks, &label, |text| {
            crate::ticks::set(text, &tick.id, tick.done)
                .map_err(|why| Trouble::refused(why, "Mend ticks.toml in an editor"))
        })?;
        built(&now)
    })
    .await
}

/// Keep a reading, or take it away
#[utoipa::path(post, path = "/api/projects/{key}/readings", tag = "workshop", params(("key" = String, Path)), request_body = wire::ReadingTaken, responses((status = 200, body = wire::Build)))]
pub async fn reading(
    State(app): Shared,
    At(key): At<String>,
    Asked(taken): Asked<wire::ReadingTaken>,
) -> Answer<wire::Build> {
    app.answer(move |app: &App| {
        let now = app.desk.now(&key)?;
        let known = built(&now)?.readings;
        let Some(line) = known.iter().find(|line| line.id == taken.id) else {
            return Err(Trouble::missing("reading", &taken.id));
        };
        let label = format!("Reading: {}", line.title);
        let now = app.desk.note(&key, Document::Readings, &label, |text| with_reading(text, line, &taken))?;
        built(&now)
    })
    .await
}

/// The text with the reading; a bare number gets the unit of its line.
fn with_reading(text: &str, line: &wire::ReadingLine, taken: &wire::ReadingTaken) -> Result<String, Trouble> {
    let value = taken.value.as_deref().map(str::trim).filter(|value| !value.is_empty());
    let changed = match value {
        None if taken.note.is_none() => prove::edit::remove(text, &taken.id),
        value => {
            let value = value.unwrap_or_default();
            let is_bare = !value.is_empty() && value.parse::<f64>().is_ok();
            let value =
                if is_bare { format!("{value} {}", line.unit).trim().to_owned() } else { value.to_owned() };
            let entry = prove::Entry { value, note: taken.note.clone(), when: None, by: None };
            prove::edit::set(text, &taken.id, &entry)
        }
    };
    changed.map_err(|error| Trouble::refused(error.to_string(), "Mend readings.toml in an editor"))
}

/// Papers to look at, print or save
#[utoipa::path(get, path = "/api/projects/{key}/papers", tag = "workshop", params(("key" = String, Path)), responses((status = 200, body = [wire::Paper])))]
pub async fn papers(State(app): Shared, At(key): At<String>) -> Answer<Vec<wire::Paper>> {
    app.answer(move |app| {
        tell::papers(app.desk.now(&key)?.stand()?).map_err(|error| Trouble::ours(error.to_string()))
    })
    .await
}

/// One paper
#[utoipa::path(get, path = "/api/projects/{key}/papers/{name}", tag = "workshop", params(("key" = String, Path), ("name" = String, Path)), responses((status = 200, description = "The file, of the media type that the list says")))]
pub async fn paper(State(app): Shared, At((key, name)): At<(String, String)>) -> Result<Response, Trouble> {
    let (bytes, media, name) = app
        .job(move |app| {
            let now = app.desk.now(&key)?;
            let found = tell::paper(now.stand()?, &name).map_err(|error| Trouble::ours(error.to_string()))?;
            let bytes = found.ok_or_else(|| Trouble::missing("paper", &name))?;
            Ok((bytes, tell::media(&name), name))
        })
        .await?;
    // What a browser can show in a page that may do nothing is shown; the names are ours and plain.
    let is_shown = media.starts_with("image/") || media.starts_with("text/") || media == "application/json";
    let how = if is_shown { "inline" } else { "attachment" };
    let disposition =
        HeaderValue::try_from(format!("{how}; filename=\"{}\"", name.replace(['"', '\\'], "_")))
            .unwrap_or_else(|_| HeaderValue::from_static("attachment"));
    let media =
        HeaderValue::try_from(media).unwrap_or_else(|_| HeaderValue::from_static("application/octet-stream"));
    let headers: [(HeaderName, HeaderValue); 3] = [
        (header::CONTENT_TYPE, media),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(DOCUMENT_POLICY)),
    ];
    Ok((headers, bytes).into_response())
}
