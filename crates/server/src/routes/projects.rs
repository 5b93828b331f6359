//! Projects: the list, new ones, how one stands, and every change to it.
//! Never: changes anything by itself; the desk does.
//! Start at [`change`].

use axum::body::Bytes;
use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;

use super::{At, Shared};
use crate::answer::{Answer, Asked, Params, Trouble};
use crate::wire;

/// Which parts a view shall hold.
#[derive(Debug, Deserialize)]
pub struct With {
    #[serde(default)]
    with: String,
}

impl With {
    fn parts(&self) -> Result<Vec<wire::Part>, Trouble> {
        if self.with.is_empty() {
            return Ok(Vec::new());
        }
        self.with
            .split(',')
            .map(|word| {
                serde_json::from_value(serde_json::Value::from(word)).map_err(|_| {
                    Trouble::new(
                        StatusCode::BAD_REQUEST,
                        "`with` names a part that a view does not have",
                        "Write some of: diagram,energy,brief,circuits",
                    )
                })
            })
            .collect()
    }
}

/// What was opened
#[utoipa::path(get, path = "/api/folder", tag = "projects", responses((status = 200, body = wire::Folder)))]
pub async fn folder(State(app): Shared) -> Answer<wire::Folder> {
    app.answer(|app| app.desk.folder()).await
}

/// Begin a project
#[utoipa::path(post, path = "/api/projects", tag = "projects", request_body = wire::NewProject, responses((status = 200, body = wire::ProjectCard)))]
pub async fn begin(State(app): Shared, Asked(new): Asked<wire::NewProject>) -> Answer<wire::ProjectCard> {
    app.answer(move |app| app.desk.begin(&new)).await
}

/// Copy a project as a variant of it
#[utoipa::path(post, path = "/api/projects/{key}/copy", tag = "projects", params(("key" = String, Path)), request_body = wire::NewVariant, responses((status = 200, body = wire::ProjectCard)))]
pub async fn copy(
    State(app): Shared,
    At(key): At<String>,
    Asked(new): Asked<wire::NewVariant>,
) -> Answer<wire::ProjectCard> {
    app.answer(move |app| app.desk.copy(&key, &new)).await
}

/// The project as it stands
#[utoipa::path(get, path = "/api/projects/{key}/view", tag = "projects", params(("key" = String, Path), ("with" = Option<String>, Query, description = "Parts that it shall hold, with commas", pattern = "^((diagram|energy|brief|circuits)(,(diagram|energy|brief|circuits))*)?$")), responses((status = 200, body = wire::View)))]
pub async fn view(State(app): Shared, At(key): At<String>, Params(with): Params<With>) -> Answer<wire::View> {
    let with = with.parts()?;
    app.answer(move |app| app.desk.view(&key, &with)).await
}

/// Change it, or only try a change
#[utoipa::path(post, path = "/api/projects/{key}/changes", tag = "projects", params(("key" = String, Path)), request_body = wire::Change, responses((status = 200, body = wire::View), (status = 409, body = wire::Clash)))]
pub async fn change(
    State(app): Shared,
    At(key): At<String>,
    Asked(change): Asked<wire::Change>,
) -> Answer<wire::View> {
    app.answer(move |app| app.desk.change(&key, &change)).await
}

/// Go back, forward or to a state
#[utoipa::path(post, path = "/api/projects/{key}/go", tag = "projects", params(("key" = String, Path)), request_body = wire::Go, responses((status = 200, body = wire::View), (status = 409, body = wire::Clash)))]
pub async fn go(State(app): Shared, At(key): At<String>, Asked(go): Asked<wire::Go>) -> Answer<wire::View> {
    app.answer(move |app| app.desk.go(&key, &go)).await
}

/// The states that are kept, the latest first
#[utoipa::path(get, path = "/api/projects/{key}/states", tag = "projects", params(("key" = String, Path)), responses((status = 200, body = [wire::State])))]
pub async fn states(State(app): Shared, At(key): At<String>) -> Answer<Vec<wire::State>> {
    app.answer(move |app| app.desk.states(&key)).await
}

/// What a weather file is called, and what its sender saw.
#[derive(Debug, Deserialize)]
pub struct Upload {
    name: String,
    base: u64,
}

/// Keep a weather file with the project and use it
#[utoipa::path(post, path = "/api/projects/{key}/weather", tag = "projects", params(("key" = String, Path), ("name" = String, Query), ("base" = u64, Query)), request_body(content = Vec<u8>, content_type = "application/octet-stream"), responses((status = 200, body = wire::View), (status = 409, body = wire::Clash)))]
pub async fn weather(
    State(app): Shared,
    At(key): At<String>,
    Params(upload): Params<Upload>,
    bytes: Result<Bytes, axum::extract::rejection::BytesRejection>,
) -> Answer<wire::View> {
    let bytes = bytes.map_err(|rejection| {
        Trouble::new(rejection.status(), rejection.body_text(), "A weather file has a few megabytes")
    })?;
    app.answer(move |app| app.desk.weather(&key, &upload.name, upload.base, bytes.to_vec())).await
}
