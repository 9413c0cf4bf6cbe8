//! Pictures outside the records: the checksum of a picture, the metadata about place and device, and the checksums of a
//! folder.
//!
//! A picture is read once from start to end and never copied. Left out on purpose: its pixels.

use std::fs::File;
use std::io::{BufReader, Read, Seek};
use std::path::{Path, PathBuf};

use exif::{Context, Tag};
use rayon::prelude::*;
use ring::digest::{self, SHA256};

use super::given;
use super::outside::must_lie_outside;
use crate::event::LARGEST_PICTURE;
use crate::problem::Failure;
use crate::text;
use crate::word::words;

/// The size of a read, in bytes.
const PIECE: usize = 64 * 1024;

/// The start of an XMP packet, which may contain names.
const PACKET: &[u8] = b"<x:xmpmeta";

/// The maximum number of files examined in picture folders.
const MOST_FILES: usize = 1_000_000;

words! {
    /// Identifying metadata in a picture file.
    #[derive(PartialOrd, Ord)]
    pub enum Embedded {
        /// The place where it was taken.
        Place = "place",
        /// The make, model or serial number of the device.
        Device = "device",
        /// A person: owner, artist or copyright holder.
        Person = "person",
        /// Other metadata, which is not read here.
        Other = "other",
    }
}

/// A picture file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureFile {
    /// SHA-256 checksum, 64 hexadecimal digits.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Identifying metadata, each kind once.
    pub embedded: Vec<Embedded>,
}

/// A file in a folder of pictures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptPicture {
    /// Path, as displayed.
    pub path: String,
    /// Name.
    pub name: String,
    /// Size in bytes.
    pub bytes: u64,
    /// SHA-256 checksum, 64 hexadecimal digits.
    pub sha256: String,
}

impl PictureFile {
    /// Reads a picture outside the records.
    ///
    /// # Errors
    /// It does not exist, is empty or too large, is not a regular file, cannot be read, or is in a records folder.
    pub fn read(path: &Path) -> Result<PictureFile, Failure> {
        let mut file = given::open(path, false)?;
        must_lie_outside(path, None).map_err(|_| {
            let path = text::path(path);
            Failure::new(format!("{path} is inside the records folder; move the picture to where pictures are kept"))
        })?;
        let (sha256, bytes, has_packet) = sum(&mut file, path)?;
        if bytes == 0 || i64::try_from(bytes).is_ok_and(|bytes| bytes > LARGEST_PICTURE) {
            let why = if bytes == 0 { "is empty" } else { "is larger than 1 GB" };
            return Err(Failure::new(format!("{} {why}; name the picture file", text::path(path))));
        }
        let mut embedded = embedded(&mut file);
        embedded.extend(has_packet.then_some(Embedded::Other));
        embedded.sort();
        embedded.dedup();
        Ok(PictureFile { sha256, bytes, embedded })
    }
}

/// The identifying metadata; empty if the format has none or is unknown.
fn embedded(file: &mut File) -> Vec<Embedded> {
    if file.rewind().is_err() {
        return Vec::new();
    }
    let read = exif::Reader::new().read_from_container(&mut BufReader::new(file));
    let properties = match read {
        Ok(properties) => properties,
        Err(exif::Error::InvalidFormat(_) | exif::Error::NotFound(_)) => return Vec::new(),
        // Unreadable metadata may contain anything.
        Err(_) => return vec![Embedded::Other],
    };
    let kind = |tag: Tag| match tag {
        tag if tag.context() == Context::Gps => Some(Embedded::Place),
        Tag::Make | Tag::Model | Tag::BodySerialNumber | Tag::LensMake | Tag::LensModel | Tag::LensSerialNumber => {
            Some(Embedded::Device)
        }
        Tag::Artist | Tag::Copyright | Tag::CameraOwnerName => Some(Embedded::Person),
        Tag::MakerNote | Tag::UserComment | Tag::ImageDescription | Tag::ImageUniqueID => Some(Embedded::Other),
        _ => None,
    };
    properties.fields().filter_map(|field| kind(field.tag)).collect()
}

/// Computes the checksum and size of a file, and whether it contains an XMP packet.
fn sum(file: &mut File, path: &Path) -> Result<(String, u64, bool), Failure> {
    let mut context = digest::Context::new(&SHA256);
    let (mut piece, mut bytes, mut has_packet) = (vec![0; PIECE], 0, false);
    let mut seam: Vec<u8> = Vec::new();
    loop {
        let read = file.read(&mut piece).map_err(|error| {
            Failure::new(format!("{} cannot be read: {error}; check the disk or the network folder", text::path(path)))
        })?;
        if read == 0 {
            break;
        }
        context.update(&piece[..read]);
        bytes += read as u64;
        // A packet may start in one block and end in the next.
        seam.extend(&piece[..read]);
        has_packet = has_packet || seam.windows(PACKET.len()).any(|window| window == PACKET);
        seam.drain(..seam.len().saturating_sub(PACKET.len() - 1));
    }
    let sum = context.finish().as_ref().iter().map(|byte| format!("{byte:02x}")).collect();
    Ok((sum, bytes, has_packet))
}

/// Returns the files in these folders and their subfolders that may be wanted, with their checksums. Links are not
/// followed.
///
/// # Errors
/// A folder or a file in it cannot be read, so that it is unknown which pictures are missing.
pub fn kept_pictures(
    folders: &[PathBuf],
    is_wanted: impl Fn(&str, u64) -> bool + Sync,
) -> Result<Vec<KeptPicture>, Failure> {
    let mut files: Vec<(PathBuf, u64)> = Vec::new();
    for folder in folders {
        if !folder.is_dir() {
            let shown = text::path(folder);
            return Err(Failure::new(format!(
                "there is no folder {shown}; name the folder of the pictures after --photos"
            )));
        }
        gather(folder, &mut files)?;
    }
    let read = |(path, bytes): &(PathBuf, u64)| {
        let name = path.file_name().map(text::file_name).unwrap_or_default();
        if !is_wanted(&name, *bytes) {
            return None;
        }
        let read = given::open(path, false).and_then(|mut file| sum(&mut file, path));
        Some(read.map(|(sha256, bytes, _)| KeptPicture { path: text::path(path), name, bytes, sha256 }))
    };
    files.par_iter().filter_map(read).collect()
}

fn gather(folder: &Path, files: &mut Vec<(PathBuf, u64)>) -> Result<(), Failure> {
    let cannot = |path: &Path, error: std::io::Error| {
        Failure::new(format!("{} cannot be read: {error}; ask for permission to read it", text::path(path)))
    };
    for entry in folder.read_dir().map_err(|error| cannot(folder, error))? {
        let path = entry.map_err(|error| cannot(folder, error))?.path();
        let about = path.symlink_metadata().map_err(|error| cannot(&path, error))?;
        if about.is_dir() {
            gather(&path, files)?;
        } else if about.is_file() {
            files.push((path, about.len()));
        }
        if files.len() > MOST_FILES {
            let shown = text::path(folder);
            return Err(Failure::new(format!(
                "{shown} has more than a million files; name the folder of the pictures"
            )));
        }
    }
    Ok(())
}
