//! Looks at the bytes of a workbook before any library does: an honest workbook never needs more
//! memory than its own size explains.

use std::collections::HashSet;
use std::io::{Cursor, Read};

use quick_xml::Reader;
use quick_xml::events::Event;
use zip::ZipArchive;

use crate::diagnostic::{Diagnostic, Name, Place};

/// How much a workbook may ask for. The defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of all parts together when unpacked.
    pub unpacked: u64,
    /// How many times larger than the file all parts together may be …
    pub proportion: u64,
    /// … once they are larger than this many bytes.
    pub proportion_from: u64,
    /// Bytes of a part that is held in memory as a whole, unpacked.
    pub held: u64,
    /// Whether the rows of a tab pass by, so that its part may be more than that.
    pub rows_pass: bool,
    /// How many times larger than packed a part may be …
    pub ratio: u64,
    /// … once it is larger than this many bytes.
    pub ratio_from: u64,
    /// A part of which nine tenths are blanks is refused once it is larger than this many bytes.
    pub blanks_from: u64,
    /// How many parts there may be.
    pub parts: usize,
    /// Bytes of the list of texts shared by all tabs, unpacked.
    pub shared_texts: u64,
    /// Bytes of a file that is to be filled, as it lies on the disk.
    pub file: u64,
    /// Bytes of a `.csv` that is to be filled: its cells take several times as much in memory.
    pub delimited: u64,
    /// Bytes of a `.csv` whose rows pass by: half a kilobyte for each row that a worksheet can have.
    pub passing: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            unpacked: 2 << 30,
            proportion: 60,
            proportion_from: 200 << 20,
            held: 256 << 20,
            rows_pass: false,
            ratio: 200,
            ratio_from: 50 << 20,
            blanks_from: 16 << 20,
            parts: 20_000,
            shared_texts: 256 << 20,
            file: 1 << 30,
            delimited: 16 << 20,
            passing: 512 << 20,
        }
    }
}

/// The bytes looked at for the beginning of a part.
const HEAD: usize = 64 << 10;

/// Checks that the bytes are a whole zip container that unpacks within the limits and whose XML
/// parts declare nothing but themselves.
///
/// Memory stays below one megabyte, time within that of unpacking [`Limits::unpacked`] bytes.
///
/// # Errors
/// `unreadable-file` for a file that is cut off, damaged, encrypted or something else altogether;
/// `hostile-file` for one that asks for more than it explains.
///
/// # Example
/// ```
/// use standstill::spreadsheet::guard::{Limits, check};
/// let problem = check("Book.xlsx", b"not a workbook", &Limits::default()).unwrap_err();
/// assert_eq!(problem.name.word(), "unreadable-file");
/// ```
pub fn check(name: &str, bytes: &[u8], limits: &Limits) -> Result<(), Box<Diagnostic>> {
    let file = File { name };
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err(Box::new(file.unreadable(
            "the workbook is protected by a password, or is of the old binary kind",
            "save a copy without a password as .xlsx",
        )));
    }
    let entries = directory(bytes, limits).map_err(|fault| Box::new(file.fault(fault)))?;
    names_are_honest(&entries).map_err(|fault| Box::new(file.fault(fault)))?;
    sizes_are_honest(&entries, bytes.len() as u64, limits)
        .map_err(|fault| Box::new(file.fault(fault)))?;
    for ZipEntry { name: part, unpacked, .. } in &entries {
        let part_name = part.to_ascii_lowercase();
        let rows = limits.rows_pass && part_name.contains("worksheets/");
        if part_name.ends_with(".xml") && !rows {
            check_held(name, part, *unpacked, limits)?;
        }
    }
    contents_are_honest(bytes, limits).map_err(|fault| Box::new(file.fault(fault)))
}

/// Checks that a part is not larger than what is held in memory.
pub(crate) fn check_held(
    name: &str,
    part: &str,
    bytes: u64,
    limits: &Limits,
) -> Result<(), Box<Diagnostic>> {
    if bytes <= limits.held {
        return Ok(());
    }
    let (bytes, most) = (bytes >> 20, limits.held >> 20);
    let words =
        format!("its part `{part}` unpacks to {bytes} MiB; at most {most} MiB are held in memory");
    let remedy = "a table of many rows goes through `standstill range`, row by row; for anything else save what is needed in a workbook of its own";
    let problem = Diagnostic::error(Name::HostileFile, words);
    Err(Box::new(problem.at(Place::File { name: name.to_owned() }).remedy(remedy)))
}

/// Checks that a file to be filled is not larger than any workbook that a person fills, before it is read.
///
/// # Errors
/// `hostile-file` with its size and the most that is read.
///
/// # Example
/// ```
/// use standstill::spreadsheet::guard::{Limits, check_size};
/// assert!(check_size("Book.csv", 1000, &Limits::default()).is_ok());
/// let problem = check_size("Book.csv", 1 << 30, &Limits::default()).unwrap_err();
/// assert_eq!(problem.name.word(), "hostile-file");
/// ```
pub fn check_size(name: &str, bytes: u64, limits: &Limits) -> Result<(), Box<Diagnostic>> {
    let delimited = is_delimited(name);
    let most = if delimited { limits.delimited } else { limits.file };
    if bytes <= most {
        return Ok(());
    }
    let words =
        format!("the file has {} MiB, to be filled it may have {} MiB", bytes >> 20, most >> 20);
    let remedy = match delimited {
        true => {
            "`standstill range` calculates a table of many rows; for anything else save what is needed as .xlsx"
        }
        false => "save what is needed in a workbook of its own",
    };
    let problem = Diagnostic::error(Name::HostileFile, words);
    Err(Box::new(problem.at(Place::File { name: name.to_owned() }).remedy(remedy)))
}

/// Checks that a file whose rows pass by is not larger than its table explains, before it is read.
///
/// # Errors
/// `hostile-file` with its size and the most that is read.
///
/// # Example
/// ```
/// use standstill::spreadsheet::guard::{Limits, check_size_of_rows};
/// assert!(check_size_of_rows("Line.csv", 100 << 20, &Limits::default()).is_ok());
/// let problem = check_size_of_rows("Line.csv", 1 << 30, &Limits::default()).unwrap_err();
/// assert_eq!(problem.name.word(), "hostile-file");
/// ```
pub fn check_size_of_rows(name: &str, bytes: u64, limits: &Limits) -> Result<(), Box<Diagnostic>> {
    let most = if is_delimited(name) { limits.passing } else { limits.file };
    if bytes <= most {
        return Ok(());
    }
    let words =
        format!("the file has {} MiB, a product line may have {} MiB", bytes >> 20, most >> 20);
    let problem = Diagnostic::error(Name::HostileFile, words);
    let remedy = "split the table into several files";
    Err(Box::new(problem.at(Place::File { name: name.to_owned() }).remedy(remedy)))
}

fn is_delimited(name: &str) -> bool {
    name.to_ascii_lowercase().ends_with(".csv")
}

/// What is wrong: an accident, or a file that no honest program writes.
enum Fault {
    Damaged(String),
    Hostile(String),
}

struct File<'a> {
    name: &'a str,
}

impl File<'_> {
    fn fault(&self, fault: Fault) -> Diagnostic {
        match fault {
            Fault::Damaged(words) => self.unreadable(
                &words,
                "open the file in the program that made it and save it again as .xlsx",
            ),
            Fault::Hostile(words) => Diagnostic::error(
                Name::HostileFile,
                format!("no honest workbook looks like this: {words}"),
            )
            .at(Place::File { name: self.name.to_owned() })
            .remedy("open it in an office program you trust and save a fresh copy as .xlsx"),
        }
    }

    fn unreadable(&self, words: &str, remedy: &str) -> Diagnostic {
        Diagnostic::error(Name::UnreadableFile, words)
            .at(Place::File { name: self.name.to_owned() })
            .remedy(remedy)
    }
}

/// One line of the zip directory.
struct ZipEntry {
    name: String,
    packed: u64,
    unpacked: u64,
}

/// Reads the zip directory (APPNOTE.TXT 6.3.10, sections 4.3.12 and 4.3.16).
fn directory(bytes: &[u8], limits: &Limits) -> Result<Vec<ZipEntry>, Fault> {
    let end = end_of_directory(bytes).ok_or_else(|| {
        Fault::Damaged("the file is cut off, or is not a workbook of the .xlsx family".to_owned())
    })?;
    let count = usize::from(number_16(bytes, end + 10));
    let mut at = number_32(bytes, end + 16);
    if count == 0xffff || at == u64::from(u32::MAX) {
        return Err(Fault::Hostile("its container is of the kind for more than 4 GiB".to_owned()));
    }
    if count > limits.parts {
        let most = limits.parts;
        return Err(Fault::Hostile(format!("it has {count} parts, more than {most}")));
    }
    let mut entries = Vec::with_capacity(count);
    for _ in 0..count {
        let (entry, next) = directory_line(bytes, at)?;
        entries.push(entry);
        at = next;
    }
    if at > end as u64 {
        return Err(Fault::Damaged("the directory of the container is damaged".to_owned()));
    }
    Ok(entries)
}

fn end_of_directory(bytes: &[u8]) -> Option<usize> {
    let earliest = bytes.len().saturating_sub(22 + 0xffff);
    let latest = bytes.len().checked_sub(22)?;
    (earliest..=latest).rev().find(|at| {
        bytes.get(*at..*at + 4) == Some(b"PK\x05\x06")
            && *at + 22 + usize::from(number_16(bytes, *at + 20)) == bytes.len()
    })
}

fn directory_line(bytes: &[u8], at: u64) -> Result<(ZipEntry, u64), Fault> {
    let damaged = || Fault::Damaged("the directory of the container is damaged".to_owned());
    let start = usize::try_from(at).map_err(|_| damaged())?;
    let line = bytes.get(start..).filter(|line| line.starts_with(b"PK\x01\x02"));
    let line = line.filter(|line| line.len() >= 46).ok_or_else(damaged)?;
    let name_length = usize::from(number_16(line, 28));
    let rest = usize::from(number_16(line, 30)) + usize::from(number_16(line, 32));
    let name = line.get(46..46 + name_length).ok_or_else(damaged)?;
    if number_16(line, 8) & 1 != 0 {
        return Err(Fault::Damaged("a part of the workbook is encrypted".to_owned()));
    }
    let entry = ZipEntry {
        name: String::from_utf8_lossy(name).into_owned(),
        packed: number_32(line, 20),
        unpacked: number_32(line, 24),
    };
    Ok((entry, at + (46 + name_length + rest) as u64))
}

fn number_16(bytes: &[u8], at: usize) -> u16 {
    bytes.get(at..at + 2).and_then(|two| two.try_into().ok()).map_or(0, u16::from_le_bytes)
}

fn number_32(bytes: &[u8], at: usize) -> u64 {
    let four = bytes.get(at..at + 4).and_then(|four| four.try_into().ok());
    u64::from(four.map_or(0, u32::from_le_bytes))
}

fn names_are_honest(entries: &[ZipEntry]) -> Result<(), Fault> {
    let mut seen = HashSet::new();
    for entry in entries {
        let plain = entry.name.replace('\\', "/").to_ascii_lowercase();
        let climbs = plain.split('/').any(|step| step == "..");
        if climbs || plain.starts_with('/') || plain.contains(':') || plain.contains('\0') {
            let name = &entry.name;
            return Err(Fault::Hostile(format!("its part `{name}` points outside the workbook")));
        }
        if !seen.insert(plain) {
            return Err(Fault::Hostile(format!("it has two parts called `{}`", entry.name)));
        }
    }
    Ok(())
}

fn sizes_are_honest(entries: &[ZipEntry], file: u64, limits: &Limits) -> Result<(), Fault> {
    let total: u64 = entries.iter().map(|entry| entry.unpacked).sum();
    if total > limits.unpacked {
        return Err(too_large(total, limits));
    }
    if total > limits.proportion_from && total / file.max(1) >= limits.proportion {
        let (times, most, total) = (total / file.max(1), limits.proportion, total >> 20);
        let words = format!("it unpacks to {total} MiB, {times} times its size and above {most}");
        return Err(Fault::Hostile(words));
    }
    for ZipEntry { name, packed, unpacked } in entries {
        if *unpacked > limits.ratio_from && *unpacked / (*packed).max(1) > limits.ratio {
            let times = unpacked / (*packed).max(1);
            let words = format!("its part `{name}` unpacks to {times} times its size");
            return Err(Fault::Hostile(words));
        }
    }
    Ok(())
}

fn too_large(total: u64, limits: &Limits) -> Fault {
    let (total, most) = (total >> 20, limits.unpacked >> 20);
    Fault::Hostile(format!("it unpacks to {total} MiB or more, above {most} MiB"))
}

/// Unpacks every part once without keeping it: declared sizes may be lies, and damage shows.
fn contents_are_honest(bytes: &[u8], limits: &Limits) -> Result<(), Fault> {
    let broken = |words: String| Fault::Damaged(format!("the container is damaged: {words}"));
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(error.to_string()))?;
    let mut total = 0;
    for index in 0..zip.len() {
        let mut part = zip.by_index(index).map_err(|error| broken(error.to_string()))?;
        let name = part.name().map(std::borrow::Cow::into_owned).unwrap_or_default();
        let declared = part.size();
        let mut head = Vec::new();
        let (mut size, mut blanks) = (0, 0);
        let mut buffer = vec![0; HEAD];
        loop {
            let read = part
                .read(&mut buffer)
                .map_err(|error| broken(format!("part `{name}`: {error}")))?;
            let fresh = buffer.get(..read).unwrap_or_default();
            if fresh.is_empty() {
                break;
            }
            let room = HEAD - head.len();
            head.extend_from_slice(fresh.get(..room.min(read)).unwrap_or_default());
            size += read as u64;
            total += read as u64;
            blanks += fresh.iter().filter(|byte| byte.is_ascii_whitespace()).count() as u64;
            if size > limits.blanks_from && blanks / 9 > size / 10 {
                return Err(Fault::Hostile(format!("its part `{name}` is nearly all blanks")));
            }
            if size > declared {
                return Err(Fault::Hostile(format!("its part `{name}` is larger than it says")));
            }
            if total > limits.unpacked {
                return Err(too_large(total, limits));
            }
        }
        part_is_honest(&name, &head, size, limits)?;
    }
    Ok(())
}

fn part_is_honest(name: &str, head: &[u8], size: u64, limits: &Limits) -> Result<(), Fault> {
    let plain = name.replace('\\', "/").to_ascii_lowercase();
    let is_xml = plain.ends_with(".xml") || plain.ends_with(".rels");
    let texts = plain.ends_with("sharedstrings.xml");
    if !is_xml || plain.starts_with("customxml/") && !texts || head.is_empty() {
        return Ok(());
    }
    let text = utf_8_head(head)
        .ok_or_else(|| Fault::Damaged(format!("its part `{name}` is not written in UTF-8")))?;
    let mut reader = Reader::from_str(text);
    loop {
        match reader.read_event() {
            Ok(Event::DocType(_)) => {
                let words = format!("its part `{name}` declares a document type or entities");
                return Err(Fault::Hostile(words));
            }
            Ok(Event::Decl(declaration)) => {
                let encoding = declaration.encoding().and_then(Result::ok);
                let encoding = encoding.map_or_else(|| "utf-8".into(), |e| e.to_ascii_lowercase());
                if !matches!(encoding.as_str(), "utf-8" | "utf8" | "us-ascii") {
                    let words = format!("its part `{name}` is written in {encoding}, not UTF-8");
                    return Err(Fault::Damaged(words));
                }
            }
            Ok(Event::Start(root) | Event::Empty(root)) => {
                return match (root.local_name().as_ref(), texts) {
                    ("sst", _) => shared_texts_are_honest(&root, size, limits),
                    (_, true) => {
                        Err(Fault::Damaged(format!("its part `{name}` is no list of texts")))
                    }
                    _ => Ok(()),
                };
            }
            Ok(Event::Eof) | Err(_) => {
                let words = format!("its part `{name}` does not begin as XML");
                return Err(Fault::Damaged(words));
            }
            Ok(_) => {}
        }
    }
}

fn shared_texts_are_honest(
    root: &quick_xml::events::BytesStart<'_>,
    size: u64,
    limits: &Limits,
) -> Result<(), Fault> {
    if size > limits.shared_texts {
        let (size, most) = (size >> 20, limits.shared_texts >> 20);
        return Err(Fault::Hostile(format!("its texts take {size} MiB, above {most} MiB")));
    }
    // the shortest text is `<si/>`
    let mut attributes = root.attributes();
    let declared = attributes.with_checks(false).flatten();
    let mut counts =
        declared.filter(|declared| declared.key.local_name().as_ref() == "uniqueCount");
    let room = |count: &str| count.trim().parse().is_ok_and(|count: u64| count <= size / 5);
    if !counts.all(|declared| room(&declared.value)) {
        let words = "its list of texts says it holds more than its bytes have room for";
        return Err(Fault::Hostile(words.to_owned()));
    }
    Ok(())
}

/// The head as text, cut back to whole characters; none if it is not UTF-8.
fn utf_8_head(head: &[u8]) -> Option<&str> {
    let text = match std::str::from_utf8(head) {
        Ok(text) => text,
        Err(error) if error.error_len().is_none() && head.len() == HEAD => {
            head.get(..error.valid_up_to()).and_then(|whole| std::str::from_utf8(whole).ok())?
        }
        Err(_) => return None,
    };
    (!text.contains('\0')).then(|| text.trim_start_matches('\u{feff}'))
}
