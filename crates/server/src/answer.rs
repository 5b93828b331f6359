//! What goes back to a client: a value as JSON, or a fault with its status, what is wrong and how to mend it.
//! Never: lets a fault out without words, or with a path of the disk that the client did not name.
//! Start at [`Trouble`] and [`Asked`].

use axum::Json;
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::extract::{FromRequest, FromRequestParts, Query, Request};
use axum::http::{StatusCode, header, request::Parts};
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;

use crate::wire;

/// Why a request was not done.
#[derive(Debug)]
pub enum Trouble {
    /// Anything but a clash.
    Fault(StatusCode, wire::Fault),
    /// The same value was changed on two sides.
    Clash(Box<wire::Clash>),
}

/// What a handler gives back.
pub type Answer<T> = Result<Json<T>, Trouble>;

impl Trouble {
    /// A fault of a status.
    pub fn new(status: StatusCode, message: impl Into<String>, mend: impl Into<String>) -> Self {
        let fault = wire::Fault { message: message.into(), mend: mend.into(), problems: Vec::new() };
        Self::Fault(status, fault)
    }

    /// There is no such thing.
    pub fn missing(what: &str, name: &str) -> Self {
        let name: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
        Self::new(
            StatusCode::NOT_FOUND,
            format!("there is no {what} `{name}`"),
            "Choose one of those that are listed",
        )
    }

    /// The request is well formed, and cannot be done.
    pub fn refused(message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, message, mend)
    }

    /// The file would not be readable, or is not.
    pub fn unreadable(message: impl Into<String>, problems: Vec<wire::Problem>) -> Self {
        let mend = problems
            .first()
            .map_or_else(|| "Take the change back".to_owned(), |problem| problem.mend.clone());
        Self::Fault(StatusCode::UNPROCESSABLE_ENTITY, wire::Fault { message: message.into(), mend, problems })
    }

    /// Something went wrong here.
    pub fn ours(message: impl Into<String>) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            message,
            "Try again; what was acknowledged before is on the disk",
        )
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        match self {
            Self::Fault(status, fault) => (status, Json(fault)).into_response(),
            Self::Clash(clash) => (StatusCode::CONFLICT, Json(*clash)).into_response(),
        }
    }
}

/// A request's own bounds, beyond its shape.
pub trait Bounded {
    /// Errors: what is out of bounds, in words.
    fn check(&self) -> Result<(), String>;
}

/// A JSON body within its bounds.
#[derive(Debug)]
pub struct Asked<T>(pub T);

impl<T: DeserializeOwned + Bounded, S: Send + Sync> FromRequest<S> for Asked<T> {
    type Rejection = Trouble;

    async fn from_request(request: Request, state: &S) -> Result<Self, Trouble> {
        let is_json =
            request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).is_some_and(
                |kind| kind.split(';').next().is_some_and(|kind| kind.trim() == "application/json"),
            );
        if !is_json {
            return Err(Trouble::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "the body is not said to be JSON",
                "Send `content-type: application/json`",
            ));
        }
        let Json(value) = Json::<T>::from_request(request, state).await.map_err(|rejection| {
            // The request's shape is wrong in both cases, so both are told alike.
            let status = match &rejection {
                JsonRejection::JsonDataError(_) | JsonRejection::JsonSyntaxError(_) => {
                    StatusCode::BAD_REQUEST
                }
                other => other.status(),
            };
            Trouble::new(status, rejection.body_text(), "See docs/openapi.json for what may be sent")
        })?;
        value.check().map_err(|message| {
            Trouble::new(
                StatusCode::BAD_REQUEST,
                message,
                "Write something that keeps to the limits in docs/openapi.json",
            )
        })?;
        Ok(Self(value))
    }
}

/// What stands behind the question mark of an address.
#[derive(Debug)]
pub struct Params<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Params<T> {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Trouble> {
        let Query(value) =
            Query::<T>::from_request_parts(parts, state).await.map_err(|rejection: QueryRejection| {
                Trouble::new(
                    StatusCode::BAD_REQUEST,
                    rejection.body_text(),
                    "See docs/openapi.json for what may be asked",
                )
            })?;
        Ok(Self(value))
    }
}

fn at_most(what: &str, text: &str, most: usize) -> Result<(), String> {
    match text.chars().count() {
        count if count > most => Err(format!("{what} has {count} characters; the most is {most}")),
        _ => Ok(()),
    }
}

fn some(what: &str, text: &str, most: usize) -> Result<(), String> {
    if text.trim().is_empty() {
        return Err(format!("{what} is empty"));
    }
    at_most(what, text, most)
}

impl Bounded for wire::NewProject {
    fn check(&self) -> Result<(), String> {
        some("the name", &self.name, 80)
    }
}

impl Bounded for wire::NewVariant {
    fn check(&self) -> Result<(), String> {
        some("the name", &self.name, 80)
    }
}

impl Bounded for wire::Edit {
    fn check(&self) -> Result<(), String> {
        if self.path.is_empty() || self.path.len() > 8 {
            return Err(format!("the path of an edit has {} segments; it needs 1 to 8", self.path.len()));
        }
        for segment in &self.path {
            some("a segment of the path", segment, 200)?;
        }
        self.value.as_deref().map_or(Ok(()), |value| at_most("the value", value, 2000))
    }
}

impl Bounded for Vec<wire::Edit> {
    fn check(&self) -> Result<(), String> {
        if self.is_empty() || self.len() > 200 {
            return Err(format!("there are {} edits; it takes 1 to 200", self.len()));
        }
        self.iter().try_for_each(Bounded::check)
    }
}

impl Bounded for wire::Change {
    fn check(&self) -> Result<(), String> {
        at_most("the label", &self.label, 200)?;
        self.edits.check()
    }
}

impl Bounded for wire::Go {
    fn check(&self) -> Result<(), String> {
        match (self.to, self.number) {
            (wire::Whither::State, None) => Err("`number` says to which state".to_owned()),
            _ => Ok(()),
        }
    }
}

impl Bounded for wire::BoardMove {
    fn check(&self) -> Result<(), String> {
        if !self.turn.is_multiple_of(90) || self.turn >= 360 {
            return Err(format!("`turn` is {}; it is 0, 90, 180 or 270", self.turn));
        }
        some("the id", &self.id, 200)
    }
}

impl Bounded for wire::Tick {
    fn check(&self) -> Result<(), String> {
        some("the id", &self.id, 200)
    }
}

impl Bounded for wire::ReadingTaken {
    fn check(&self) -> Result<(), String> {
        some("the id", &self.id, 200)?;
        self.value.as_deref().map_or(Ok(()), |value| at_most("the value", value, 60))?;
        self.note.as_deref().map_or(Ok(()), |note| at_most("the note", note, 400))
    }
}

impl Bounded for wire::NewWork {
    fn check(&self) -> Result<(), String> {
        let (count, most) = match self {
            Self::Years { count } => (*count, 100_000),
            Self::Sizes { years } => (*years, 1000),
        };
        if count == 0 || count > most {
            return Err(format!("{count} years; it takes 1 to {most}"));
        }
        Ok(())
    }
}

impl Bounded for wire::Entry {
    fn check(&self) -> Result<(), String> {
        some("the code", &self.code, 40)
    }
}
