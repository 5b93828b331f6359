//! `open`: serves a folder as a page until it is ended.
//! Never: is heard outside this machine unless `--share` was given; writes a code anywhere but on the terminal.
//! Start at [`run`].

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr, UdpSocket};
use std::process::{Command, Stdio};

use folder::Shelf;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use server::{Options, Service, StartError};

use crate::answer::{Answer, Failure};
use crate::cli::OpenArgs;
use crate::show::Screen;

/// Serves until the program is ended.
pub fn run(args: &OpenArgs, screen: &Screen) -> Result<Answer, Failure> {
    let shelf = Shelf::open(folder_of(&args.folder))?;
    let network = match args.share {
        None => None,
        Some(Some(address)) => Some(address),
        Some(None) => Some(own_address().ok_or_else(|| {
            Failure::plain(
                "this machine has no address on a network",
                "--share",
                "Connect it to one, or name the address: `--share=192.168.1.5`",
            )
        })?),
    };
    let share = network.map(|address| (address, told()));
    let service = Service::start(Options { shelf, port: args.port, share, patience: None })
        .map_err(|error| failure(&error))?;
    let address = service.address();
    say(&format!("{}\n\nEnd it with Ctrl-C.", screen.heading(&address)));
    if let Some((shared, code)) = service.shared() {
        say(&sharing(&shared, &code));
    }
    if !args.no_browser && !open_browser(&address) {
        say("No browser could be opened; open the address above in one.");
    }
    service.wait();
    Ok(Answer::text(""))
}

/// The folder that is meant where its intent.toml was named.
fn folder_of(path: &std::path::Path) -> &std::path::Path {
    match path.parent() {
        Some(folder) if path.file_name().is_some_and(|name| name == folder::INTENT) => {
            if folder.as_os_str().is_empty() { std::path::Path::new(".") } else { folder }
        }
        _ => path,
    }
}

fn failure(error: &StartError) -> Failure {
    let (place, mend) = match error {
        StartError::Taken(_) => {
            ("--port", "Name another port, or leave `--port` out to take the next free one")
        }
        StartError::NoneFree => ("", "Name a port that is free: `--port 9000`"),
        StartError::Address(..) => ("--share", "Name an address of this machine, and a port from 1024 on"),
        StartError::System(_) => ("", "Check the limits of the system on threads and open files"),
    };
    Failure::plain(error.to_string(), place, mend)
}

/// Says what happens to codes on the terminal.
fn told() -> server::Tell {
    Box::new(|why, code| say(&format!("\n{why}\n  {code}")))
}

/// What stands on the terminal of one who shares.
fn sharing(address: &str, code: &str) -> String {
    // Behind the # it goes to the page only, never over the network with the address.
    let link = format!("{address}#code={code}");
    let picture = QrCode::new(link.as_bytes()).map_or_else(
        |_| String::new(),
        |code| code.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build(),
    );
    format!(
        "\nOn another device of this network: {address}\nCode, good for one device: {code}\n\n{picture}\n\n\
         What goes over the network is not encrypted: anyone on it could read along and take the session over.\n\
         Share only on a network of your own. Sharing ends with the program."
    )
}

/// Prints at once; a terminal that is gone is no reason to stop.
fn say(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = writeln!(out, "{text}").and_then(|()| out.flush());
}

/// The address by which this machine is known on its network. Choosing a way to a documentation address sends nothing.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_loopback() && !address.is_unspecified()).then_some(address)
}

/// Asks the system for its browser.
fn open_browser(address: &str) -> bool {
    let (program, words): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("rundll32", &["url.dll,FileProtocolHandler"])
    } else {
        ("xdg-open", &[])
    };
    let started = Command::new(program)
        .args(words)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    match started {
        Ok(mut child) => {
            // Somebody has to hear that it ended.
            std::thread::spawn(move || child.wait());
            true
        }
        Err(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn an_intent_that_is_named_means_its_folder() {
        assert_eq!(folder_of(Path::new("vans/heron/intent.toml")), Path::new("vans/heron"));
        assert_eq!(folder_of(Path::new("intent.toml")), Path::new("."));
        assert_eq!(folder_of(Path::new("vans")), Path::new("vans"));
    }

    #[test]
    fn one_who_shares_is_told_what_it_means() {
        let text = sharing("http://192.0.2.1:7423/", "AAAA-BBBB-CCCC");
        assert!(
            text.contains("AAAA-BBBB-CCCC")
                && text.contains("not encrypted")
                && text.contains("network of your own")
        );
        assert!(text.contains('█'), "the picture of the link");
    }
}
