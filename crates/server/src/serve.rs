//! Listening: on loopback, and on the network only where it was asked for; one connection after the other until the end.
//! Never: listens on an address that was not named, waits for ever on a client.
//! Start at [`Service::start`].

use std::convert::Infallible;
use std::io::ErrorKind;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use folder::Shelf;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use tokio::sync::{Semaphore, watch};
use tower::ServiceExt;

use crate::desk::Desk;
use crate::guard::{Guard, Names, Peer, Rate};
use crate::routes::{App, router};
use crate::share::{Share, Tell};
use crate::work::{PATIENCE, Works};

/// The port that is tried first where none is named.
pub const USUAL_PORT: u16 = 7423;
/// Ports after it that are tried.
const MORE_PORTS: u16 = 50;
/// Connections at a time; more are closed at once.
const CONNECTIONS: usize = 256;
/// Longest head of a request [bytes].
const LONGEST_HEAD: usize = 32 * 1024;
/// Fields in the head of a request.
const MOST_FIELDS: usize = 64;
/// Time for a request's head to come.
const HEAD_TIME: Duration = Duration::from_secs(60);
/// Time for requests under way to end when the service does.
const LAST_WORDS: Duration = Duration::from_secs(3);
/// Threads that may wait for disk and processor.
const WAITING_THREADS: usize = 24;

/// What to serve, and where.
pub struct Options {
    /// The folder.
    pub shelf: Shelf,
    /// The port; `None`: the first that is free from [`USUAL_PORT`] on.
    pub port: Option<u16>,
    /// The address on the network to share it on, and who is told of codes.
    pub share: Option<(IpAddr, Tell)>,
    /// How long work goes on when nobody listens; `None`: the usual time.
    pub patience: Option<Duration>,
}

/// Why it cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// The port is somebody else's.
    #[error("port {0} is taken by another program")]
    Taken(u16),
    /// No port is free.
    #[error("no port from {USUAL_PORT} on is free")]
    NoneFree,
    /// The address cannot be listened on.
    #[error("cannot listen on {0}: {1}")]
    Address(SocketAddr, std::io::Error),
    /// The system refuses something else.
    #[error("the service cannot start: {0}")]
    System(String),
}

/// A service that runs.
pub struct Service {
    port: u16,
    share: Option<Arc<Share>>,
    shared_at: Option<SocketAddr>,
    end: watch::Sender<bool>,
    runtime: tokio::runtime::Runtime,
    accepting: Option<tokio::task::JoinHandle<()>>,
}

impl Service {
    /// Listens and serves until [`Service::stop`].
    pub fn start(options: Options) -> Result<Self, StartError> {
        let system = |error: &dyn std::fmt::Display| StartError::System(error.to_string());
        let network = options.share.as_ref().map(|(address, _)| *address);
        let (port, listeners) = listeners(options.port, network)?;
        let share = match options.share {
            Some((_, tell)) => Some(Arc::new(Share::new(port, tell).map_err(|error| system(&error))?)),
            None => None,
        };
        let guard = Arc::new(Guard {
            names: Names { port, shared: network },
            rate: Rate::default(),
            share: share.clone(),
        });
        let works =
            Arc::new(Works::new(options.patience.unwrap_or(PATIENCE)).map_err(|error| system(&error))?);
        let (end, ending) = watch::channel(false);
        let app = App::new(Desk::new(options.shelf), works, guard, ending.clone());
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(WAITING_THREADS)
            .thread_name("service")
            .enable_all()
            .build()
            .map_err(|error| system(&error))?;
        let accepting = {
            let _inside = runtime.enter();
            let listeners: Vec<tokio::net::TcpListener> = listeners
                .into_iter()
                .map(|listener| {
                    listener.set_nonblocking(true)?;
                    tokio::net::TcpListener::from_std(listener)
                })
                .collect::<Result<_, _>>()
                .map_err(|error| system(&error))?;
            runtime.spawn(accept(listeners, app, ending))
        };
        let shared_at = network.map(|address| SocketAddr::new(address, port));
        Ok(Self { port, share, shared_at, end, runtime, accepting: Some(accepting) })
    }

    /// Its port.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// Its address on this machine.
    pub fn address(&self) -> String {
        format!("http://localhost:{}/", self.port)
    }

    /// Its address on the network and the code now, where it is shared.
    pub fn shared(&self) -> Option<(String, String)> {
        Some((format!("http://{}/", self.shared_at?), self.share.as_ref()?.code()))
    }

    /// Serves until the program is asked to end (Ctrl-C, or the system's word).
    pub fn wait(self) {
        self.runtime.block_on(async {
            #[cfg(unix)]
            if let Ok(mut term) = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
                tokio::select! { _ = tokio::signal::ctrl_c() => {}, _ = term.recv() => {} }
                return;
            }
            let _ = tokio::signal::ctrl_c().await;
        });
        self.stop();
    }

    /// Ends: no more connections, work stops, requests under way may end.
    pub fn stop(mut self) {
        self.end.send_replace(true);
        if let Some(accepting) = self.accepting.take() {
            let _ = self.runtime.block_on(accepting);
        }
        self.runtime.shutdown_timeout(LAST_WORDS);
    }
}

/// Listeners on loopback and, where asked for, on the network, all on one port.
fn listeners(port: Option<u16>, network: Option<IpAddr>) -> Result<(u16, Vec<TcpListener>), StartError> {
    let ports = match port {
        Some(port) => port..=port,
        None => USUAL_PORT..=USUAL_PORT + MORE_PORTS,
    };
    let mut last = StartError::NoneFree;
    for tried in ports {
        match on_port(tried, network) {
            Ok(found) => return Ok(found),
            Err(error @ StartError::Taken(_)) if port.is_some() => return Err(error),
            Err(StartError::Taken(_)) => last = StartError::NoneFree,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

fn on_port(port: u16, network: Option<IpAddr>) -> Result<(u16, Vec<TcpListener>), StartError> {
    let listen = |address: IpAddr, port: u16| {
        let place = SocketAddr::new(address, port);
        TcpListener::bind(place).map_err(|error| match error.kind() {
            ErrorKind::AddrInUse => StartError::Taken(port),
            _ => StartError::Address(place, error),
        })
    };
    let here = listen(IpAddr::V4(Ipv4Addr::LOCALHOST), port)?;
    // Port 0 is any that is free.
    let port = here.local_addr().map_err(|error| StartError::System(error.to_string()))?.port();
    let mut listeners = vec![here];
    match listen(IpAddr::V6(Ipv6Addr::LOCALHOST), port) {
        Ok(listener) => listeners.push(listener),
        // `localhost` may lead there first, so nobody else may sit there.
        Err(error @ StartError::Taken(_)) => return Err(error),
        // A machine without the newer addresses.
        Err(_) => {}
    }
    if let Some(address) = network {
        listeners.push(listen(address, port)?);
    }
    Ok((port, listeners))
}

async fn accept(listeners: Vec<tokio::net::TcpListener>, app: Arc<App>, ending: watch::Receiver<bool>) {
    let router = router(&app);
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    let graceful = Arc::new(GracefulShutdown::new());
    let mut tasks = tokio::task::JoinSet::new();
    for listener in listeners {
        let (router, room, graceful, mut ending) =
            (router.clone(), Arc::clone(&room), Arc::clone(&graceful), ending.clone());
        tasks.spawn(async move {
            loop {
                let accepted = tokio::select! {
                    accepted = listener.accept() => accepted,
                    _ = ending.wait_for(|is| *is) => return,
                };
                let Ok((stream, peer)) = accepted else {
                    // Out of files, or a client that went at once.
                    tokio::time::sleep(Duration::from_millis(20)).await;
                    continue;
                };
                let Ok(seat) = Arc::clone(&room).try_acquire_owned() else { continue };
                let _ = stream.set_nodelay(true);
                let connection = http1::Builder::new()
                    .timer(TokioTimer::new())
                    .header_read_timeout(HEAD_TIME)
                    .max_buf_size(LONGEST_HEAD)
                    .max_headers(MOST_FIELDS)
                    .serve_connection(TokioIo::new(stream), service(router.clone(), peer.ip()));
                let connection = graceful.watch(connection);
                tokio::spawn(async move {
                    // A client that breaks off is no news.
                    let _ = connection.await;
                    drop(seat);
                });
            }
        });
    }
    while tasks.join_next().await.is_some() {}
    app.works.stop_all();
    if let Some(graceful) = Arc::into_inner(graceful) {
        let _ = tokio::time::timeout(LAST_WORDS, graceful.shutdown()).await;
    }
}

type Answering = std::pin::Pin<Box<dyn Future<Output = Result<axum::response::Response, Infallible>> + Send>>;

fn service(
    router: Router,
    peer: IpAddr,
) -> impl hyper::service::Service<
    hyper::Request<hyper::body::Incoming>,
    Response = axum::response::Response,
    Error = Infallible,
    Future = Answering,
> {
    hyper::service::service_fn(move |request: hyper::Request<hyper::body::Incoming>| -> Answering {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(Peer(peer));
        Box::pin(router.clone().oneshot(request))
    })
}
