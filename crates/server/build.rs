//! Packs the built page into the program: every file of web/dist with a mark of its content and, where that is smaller, compressed.
//! Never: builds the page; a folder that is missing gives a program without one.
//! Start at [`main`].

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let dist = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR")?).join("../../web/dist");
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    println!("cargo:rerun-if-changed=build.rs");
    // Cargo looks through a folder with all that is in it; the one above is named for when there is none yet.
    println!(
        "cargo:rerun-if-changed={}",
        if dist.is_dir() { "../../web/dist" } else { "../../web/package.json" }
    );
    let mut files = Vec::new();
    if dist.is_dir() {
        walk(&dist, &mut files)?;
    }
    files.sort();
    let mut list = String::from("&[\n");
    for (number, file) in files.iter().enumerate() {
        let bytes = std::fs::read(file)?;
        let name = file.strip_prefix(&dist)?.to_string_lossy().replace('\\', "/");
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        packer.write_all(&bytes)?;
        let packed = packer.finish()?;
        let packed = if packed.len() < bytes.len() {
            let place = out.join(format!("{number}.gz"));
            std::fs::write(&place, packed)?;
            format!("Some(include_bytes!({:?}))", place.display().to_string())
        } else {
            "None".to_owned()
        };
        writeln!(
            list,
            "Asset {{ name: {name:?}, bytes: include_bytes!({:?}), packed: {packed}, mark: \"{:016x}\" }},",
            file.canonicalize()?.display().to_string(),
            mark(&bytes)
        )?;
    }
    list.push_str("]\n");
    std::fs::write(out.join("assets.rs"), list)?;
    Ok(())
}

fn walk(folder: &Path, into: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            walk(&path, into)?;
        } else {
            into.push(path);
        }
    }
    Ok(())
}

/// FNV-1a, 64 bits: tells one build's file from another's.
fn mark(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |mark, byte| {
        (mark ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
