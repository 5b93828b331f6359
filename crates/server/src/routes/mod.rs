//! The addresses: what is asked at which, and who answers. Every handler hands its work to the desk on a thread that may wait.
//! Never: computes, reads a file, makes a path of what a client sent.
//! Start at [`router`]; [`App`] is what the handlers share.

pub mod about;
pub mod board;
pub mod build;
pub mod places;
pub mod projects;
pub mod streams;

use std::sync::Arc;

use axum::extract::{DefaultBodyLimit, FromRequestParts, Path, Request};
use axum::http::{HeaderMap, StatusCode, request::Parts};
use axum::response::{IntoResponse, Response};
use axum::routing::{delete, get, post};
use axum::{Json, Router, middleware};
use serde::de::DeserializeOwned;
use tokio::sync::{Semaphore, watch};
use tower_http::catch_panic::CatchPanicLayer;

use crate::answer::{Answer, Trouble};
use crate::desk::Desk;
use crate::guard::{self, Guard};
use crate::work::Works;

/// Longest JSON body [bytes].
const LONGEST_BODY: usize = 1 << 20;
/// Requests that are worked on at a time; more wait.
const JOBS: usize = 16;
/// Windows that listen to news or work at a time.
const LISTENERS: usize = 64;

/// What the handlers share.
pub struct App {
    /// The folder that is open.
    pub desk: Arc<Desk>,
    /// Work under way.
    pub works: Arc<Works>,
    /// Who may ask.
    pub guard: Arc<Guard>,
    /// Turns true when the service ends.
    pub ending: watch::Receiver<bool>,
    jobs: Semaphore,
    listeners: Arc<Semaphore>,
}

impl App {
    /// Everything for a service.
    pub fn new(
        desk: Arc<Desk>,
        works: Arc<Works>,
        guard: Arc<Guard>,
        ending: watch::Receiver<bool>,
    ) -> Arc<Self> {
        let (jobs, listeners) = (Semaphore::new(JOBS), Arc::new(Semaphore::new(LISTENERS)));
        Arc::new(Self { desk, works, guard, ending, jobs, listeners })
    }

    /// Does something that may wait for the disk or the processor.
    async fn job<T: Send + 'static>(
        self: Arc<Self>,
        job: impl FnOnce(&Self) -> Result<T, Trouble> + Send + 'static,
    ) -> Result<T, Trouble> {
        let app = Arc::clone(&self);
        let _turn = self.jobs.acquire().await.map_err(|_| Trouble::ours("the service is ending"))?;
        tokio::task::spawn_blocking(move || job(&app))
            .await
            .unwrap_or_else(|_| Err(Trouble::ours("this could not be computed; the project is as it was")))
    }

    /// The same, as JSON.
    async fn answer<T: Send + 'static>(
        self: Arc<Self>,
        job: impl FnOnce(&Self) -> Result<T, Trouble> + Send + 'static,
    ) -> Answer<T> {
        self.job(job).await.map(Json)
    }
}

/// What the handlers are given.
type Shared = axum::extract::State<Arc<App>>;

/// A part of the address.
pub struct At<T>(pub T);

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for At<T> {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Trouble> {
        match Path::<T>::from_request_parts(parts, state).await {
            Ok(Path(value)) => Ok(Self(value)),
            Err(_) => Err(Trouble::missing("address", parts.uri.path())),
        }
    }
}

/// Every address, with its checks.
pub fn router(app: &Arc<App>) -> Router {
    let project = Router::new()
        .route("/copy", post(projects::copy))
        .route("/view", get(projects::view))
        .route("/changes", post(projects::change))
        .route("/go", post(projects::go))
        .route("/states", get(projects::states))
        .route("/place", get(places::place))
        .route("/why", get(places::why))
        .route("/mends", get(places::mends))
        .route("/effect", post(places::effect))
        .route("/questions", get(places::questions))
        .route("/fields", get(places::fields))
        .route("/faults", get(places::faults))
        .route("/fault", get(places::fault))
        .route("/board", get(board::board))
        .route("/board/moved", post(board::moved))
        .route("/build", get(build::build))
        .route("/ticks", post(build::tick))
        .route("/readings", post(build::reading))
        .route("/papers", get(build::papers))
        .route("/papers/{name}", get(build::paper))
        .route("/work", post(streams::begin))
        .route(
            "/weather",
            post(projects::weather).layer(DefaultBodyLimit::max(energy::weather::LARGEST_FILE)),
        );
    Router::new()
        .route("/api/folder", get(projects::folder))
        .route("/api/projects", post(projects::begin))
        .nest("/api/projects/{key}", project)
        .route("/api/compare", get(places::compare))
        .route("/api/parts", get(places::parts))
        .route("/api/work/{id}/events", get(streams::events))
        .route("/api/work/{id}", delete(streams::stop))
        .route("/api/news", get(streams::news))
        .route("/api/session", post(about::enter))
        .route("/api/openapi.json", get(about::description))
        .method_not_allowed_fallback(wrong_method)
        .fallback(other)
        .layer(DefaultBodyLimit::max(LONGEST_BODY))
        .layer(middleware::from_fn_with_state(Arc::clone(&app.guard), guard::pass))
        .layer(CatchPanicLayer::custom(|_| Trouble::ours("something went wrong here").into_response()))
        .with_state(Arc::clone(app))
}

async fn wrong_method() -> Trouble {
    Trouble::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "this cannot be done at this address",
        "See docs/openapi.json for what can",
    )
}

/// Everything that is no service of ours: the page, or nothing.
async fn other(headers: HeaderMap, request: Request) -> Response {
    let path = request.uri().path();
    if path == "/api" || path.starts_with("/api/") {
        return Trouble::missing("address", path).into_response();
    }
    if request.method() != axum::http::Method::GET && request.method() != axum::http::Method::HEAD {
        return wrong_method().await.into_response();
    }
    match path.strip_prefix("/enter/").and_then(crate::share::door_file) {
        Some(file) => file,
        None => crate::assets::answer(path, &headers),
    }
}
