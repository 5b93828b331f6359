//! Letting a phone on the same network in: a code that opens once, then a session that ends with the program.
//! Never: keeps a code that was used or guessed at too often, writes a session down.
//! Start at [`Share`].

use std::fmt;
use std::net::IpAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};

use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use subtle::ConstantTimeEq;

use crate::answer::Trouble;

/// Letters of a code: none that is taken for another.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// Letters in a code, 5 bits each.
const LENGTH: usize = 12;
/// Wrong codes after which another one is made.
const MOST_TRIES: u32 = 5;
/// Wrong codes in all after which nobody is let in until the program is started again.
const MOST_TRIES_IN_ALL: u32 = 50;
/// Sessions at a time; the oldest ends when there are more.
const MOST_SESSIONS: usize = 16;

/// Told when there is another code: why, and the code.
pub type Tell = Box<dyn Fn(&str, &str) + Send + Sync>;

/// Who is let in.
pub struct Share {
    port: u16,
    state: Mutex<State>,
    tell: Tell,
}

struct State {
    code: [u8; LENGTH],
    tries: u32,
    tries_in_all: u32,
    sessions: Vec<[u8; 16]>,
}

impl fmt::Debug for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Share").field("port", &self.port).finish_non_exhaustive()
    }
}

impl Share {
    /// A share with its first code. `tell` hears each later one.
    ///
    /// Errors: a system that gives no random numbers.
    pub fn new(port: u16, tell: Tell) -> Result<Self, getrandom::Error> {
        let state = State { code: new_code()?, tries: 0, tries_in_all: 0, sessions: Vec::new() };
        Ok(Self { port, state: Mutex::new(state), tell })
    }

    /// The code now, as it is shown.
    pub fn code(&self) -> String {
        shown(&self.state().code)
    }

    /// Whether a request belongs to a session.
    pub fn knows(&self, headers: &HeaderMap) -> bool {
        let name = self.cookie();
        let tokens = headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|line| line.to_str().ok())
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().strip_prefix(name.as_str())?.strip_prefix('='))
            .filter_map(unhex);
        let state = self.state();
        tokens.into_iter().any(|token| {
            // All are compared, so that the time says nothing.
            state.sessions.iter().fold(false, |is, session| is | bool::from(session[..].ct_eq(&token[..])))
        })
    }

    /// Opens a session for the right code: what the cookie is set to.
    ///
    /// Errors: a wrong code; too many wrong codes; a system that gives no random numbers.
    pub fn enter(&self, code: &str, peer: IpAddr) -> Result<HeaderValue, Trouble> {
        let closed = || {
            Trouble::new(
                StatusCode::FORBIDDEN,
                "too many wrong codes were given",
                "Start the program again to share it",
            )
        };
        let no_chance =
            |error: getrandom::Error| Trouble::ours(format!("no random numbers can be had: {error}"));
        let letters: Vec<u8> = code
            .bytes()
            .filter(u8::is_ascii_alphanumeric)
            .map(|letter| letter.to_ascii_uppercase())
            .collect();
        let mut state = self.state();
        if state.tries_in_all >= MOST_TRIES_IN_ALL {
            return Err(closed());
        }
        if !bool::from(state.code[..].ct_eq(&letters[..])) {
            state.tries += 1;
            state.tries_in_all += 1;
            if state.tries_in_all >= MOST_TRIES_IN_ALL {
                drop(state);
                (self.tell)(
                    "Too many wrong codes were given. Nobody else is let in until this is started again.",
                    "",
                );
                return Err(closed());
            }
            if state.tries >= MOST_TRIES {
                (state.code, state.tries) = (new_code().map_err(no_chance)?, 0);
                let code = shown(&state.code);
                drop(state);
                (self.tell)(&format!("{peer} gave wrong codes. The code is now another one:"), &code);
            }
            return Err(Trouble::new(
                StatusCode::FORBIDDEN,
                "this is not the code",
                "Type the code that the terminal shows now",
            ));
        }
        let mut token = [0; 16];
        getrandom::fill(&mut token).map_err(no_chance)?;
        (state.code, state.tries) = (new_code().map_err(no_chance)?, 0);
        if state.sessions.len() >= MOST_SESSIONS {
            state.sessions.remove(0);
        }
        state.sessions.push(token);
        let code = shown(&state.code);
        drop(state);
        (self.tell)(&format!("{peer} was let in. The code for another device:"), &code);
        let hex: String = token.iter().map(|byte| format!("{byte:02x}")).collect();
        let cookie = format!("{}={hex}; HttpOnly; SameSite=Strict; Path=/", self.cookie());
        HeaderValue::try_from(cookie).map_err(|_| Trouble::ours("the session cannot be written"))
    }

    /// Cookies are not kept apart by port, so the name holds it.
    fn cookie(&self) -> String {
        format!("wattwain-{}", self.port)
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn new_code() -> Result<[u8; LENGTH], getrandom::Error> {
    let mut code = [0; LENGTH];
    getrandom::fill(&mut code)?;
    // 256 is a multiple of 32, so every letter is as likely.
    Ok(code.map(|byte| LETTERS[usize::from(byte) % LETTERS.len()]))
}

fn shown(code: &[u8; LENGTH]) -> String {
    let groups: Vec<String> =
        code.chunks(4).map(|group| String::from_utf8_lossy(group).into_owned()).collect();
    groups.join("-")
}

fn unhex(text: &str) -> Option<[u8; 16]> {
    if text.len() != 32 || !text.is_ascii() {
        return None;
    }
    let mut bytes = [0; 16];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(text.get(2 * at..2 * at + 2)?, 16).ok()?;
    }
    Some(bytes)
}

/// Whether a path belongs to what a device sees before it is let in.
pub fn is_door(path: &str) -> bool {
    matches!(path, "/api/session" | "/enter/enter.css" | "/enter/enter.js")
}

/// The page that asks for the code, in place of any other.
pub fn door() -> Response {
    let no_store = [(header::CACHE_CONTROL, "no-store")];
    (StatusCode::UNAUTHORIZED, no_store, Html(include_str!("enter/index.html"))).into_response()
}

/// What that page needs.
pub fn door_file(name: &str) -> Option<Response> {
    let (kind, text) = match name {
        "enter.css" => ("text/css; charset=utf-8", include_str!("enter/enter.css")),
        "enter.js" => ("text/javascript; charset=utf-8", include_str!("enter/enter.js")),
        _ => return None,
    };
    Some(([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-cache")], text).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::Ipv4Addr;

    const PHONE: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 7));

    fn share() -> Share {
        Share::new(8470, Box::new(|_, _| {})).unwrap()
    }

    fn with_cookie(cookie: &str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        headers.insert(header::COOKIE, cookie.parse().unwrap());
        headers
    }

    #[test]
    fn a_code_opens_once() {
        let share = share();
        let code = share.code();
        assert_eq!(code.len(), 14);
        let cookie = share.enter(&format!(" {} ", code.to_lowercase()), PHONE).unwrap();
        let cookie = cookie.to_str().unwrap();
        assert!(cookie.ends_with("; HttpOnly; SameSite=Strict; Path=/"), "{cookie}");
        let pair = cookie.split(';').next().unwrap();
        assert!(share.knows(&with_cookie(pair)) && share.knows(&with_cookie(&format!("a=b; {pair}"))));
        assert!(share.enter(&code, PHONE).is_err());
        assert_ne!(share.code(), code);
        for other in
            ["", "wattwain-8470=", "wattwain-8470=00000000000000000000000000000000", "wattwain-8470=+f"]
        {
            assert!(!share.knows(&with_cookie(other)), "{other}");
        }
        assert!(!share.knows(&with_cookie(&pair.replace("8470", "8471"))));
        assert!(!self::share().knows(&with_cookie(pair)), "a session ends with the program");
    }

    #[test]
    fn guessing_is_bounded() {
        let share = share();
        let first = share.code();
        for _ in 0..MOST_TRIES {
            assert_eq!(share.code(), first);
            assert!(share.enter("AAAA-AAAA-AAAA", PHONE).is_err());
        }
        assert_ne!(share.code(), first, "another code after five");
        for _ in 0..MOST_TRIES_IN_ALL {
            assert!(share.enter("AAAA", PHONE).is_err());
        }
        assert!(share.enter(&share.code(), PHONE).is_err(), "closed after fifty");
    }
}
