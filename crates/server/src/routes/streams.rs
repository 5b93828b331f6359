//! What goes on: work and news, told as they come.
//! Never: goes on telling a window that has gone.
//! Start at [`events`] and [`news`].

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use tokio::sync::OwnedSemaphorePermit;
use tokio::sync::broadcast::error::RecvError;
use tokio_stream::Stream;
use tokio_stream::wrappers::ReceiverStream;

use super::{App, At, Shared};
use crate::answer::{Answer, Asked, Trouble};
use crate::wire;
use crate::work::is_last;

/// How often a window hears that we are there.
const HEARTBEAT: Duration = Duration::from_secs(10);

type Events =
    Sse<axum::response::sse::KeepAliveStream<Pin<Box<dyn Stream<Item = Result<Event, Infallible>> + Send>>>>;

fn stream(receive: tokio::sync::mpsc::Receiver<Result<Event, Infallible>>) -> Events {
    let events: Pin<Box<dyn Stream<Item = Result<Event, Infallible>> + Send>> =
        Box::pin(ReceiverStream::new(receive));
    Sse::new(events).keep_alive(KeepAlive::new().interval(HEARTBEAT))
}

fn seat_for(app: &App) -> Result<OwnedSemaphorePermit, Trouble> {
    Arc::clone(&app.listeners).try_acquire_owned().map_err(|_| {
        Trouble::new(StatusCode::TOO_MANY_REQUESTS, "too many windows are listening", "Close some of them")
    })
}

/// An event that holds a value as JSON; what cannot be written is left out, which no type of ours is.
fn event(value: &impl serde::Serialize) -> Result<Event, Infallible> {
    Ok(Event::default().json_data(value).unwrap_or_default())
}

/// Begin work that takes longer than an edit
#[utoipa::path(post, path = "/api/projects/{key}/work", tag = "work", params(("key" = String, Path)), request_body = wire::NewWork, responses((status = 200, body = wire::Work)))]
pub async fn begin(
    State(app): Shared,
    At(key): At<String>,
    Asked(new): Asked<wire::NewWork>,
) -> Answer<wire::Work> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        let id = app.works.begin(Arc::clone(now.stand()?), new)?;
        Ok(wire::Work { id, number: now.number })
    })
    .await
}

/// How far it is, until it ends: server-sent events, each a `WorkEvent`
#[utoipa::path(get, path = "/api/work/{id}/events", tag = "work", params(("id" = u64, Path)), responses((status = 200, body = wire::WorkEvent, content_type = "text/event-stream")))]
pub async fn events(State(app): Shared, At(id): At<u64>) -> Result<Events, Trouble> {
    let seat = seat_for(&app)?;
    let mut listener = app.works.listen(id).ok_or_else(|| Trouble::missing("work", &id.to_string()))?;
    let (send, receive) = tokio::sync::mpsc::channel(4);
    let mut ending = app.ending.clone();
    tokio::spawn(async move {
        let _seat = seat;
        loop {
            let told = listener.told.borrow_and_update().clone();
            let is_over = is_last(&told);
            if send.send(event(&told)).await.is_err() || is_over {
                return;
            }
            tokio::select! {
                changed = listener.told.changed() => if changed.is_err() { return },
                () = send.closed() => return,
                _ = ending.wait_for(|is| *is) => return,
            }
        }
    });
    Ok(stream(receive))
}

/// Stop it
#[utoipa::path(delete, path = "/api/work/{id}", tag = "work", params(("id" = u64, Path)), responses((status = 204, description = "It was told to stop, or had ended")))]
pub async fn stop(State(app): Shared, At(id): At<u64>) -> Result<StatusCode, Trouble> {
    if app.works.stop(id) {
        Ok(StatusCode::NO_CONTENT)
    } else {
        Err(Trouble::missing("work", &id.to_string()))
    }
}

/// What changes in any project: server-sent events, each a `News`
#[utoipa::path(get, path = "/api/news", tag = "work", responses((status = 200, body = wire::News, content_type = "text/event-stream")))]
pub async fn news(State(app): Shared) -> Result<Events, Trouble> {
    let seat = seat_for(&app)?;
    let mut heard = app.desk.listen();
    let (send, receive) = tokio::sync::mpsc::channel(4);
    let mut ending = app.ending.clone();
    tokio::spawn(async move {
        let _seat = seat;
        // So that a window knows at once that it is heard.
        if send.send(Ok(Event::default().comment("here"))).await.is_err() {
            return;
        }
        loop {
            let news = tokio::select! {
                news = heard.recv() => news,
                () = send.closed() => return,
                _ = ending.wait_for(|is| *is) => return,
            };
            match news {
                Ok(news) => {
                    if send.send(event(&news)).await.is_err() {
                        return;
                    }
                }
                // A window that was too slow starts anew and asks for everything.
                Err(RecvError::Lagged(_) | RecvError::Closed) => return,
            }
        }
    });
    Ok(stream(receive))
}
