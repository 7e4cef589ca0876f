//! Every refusal of the reader of recordings is provoked by a file: a refusal that no file provokes fails here.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use rust_xlsxwriter::{Formula, Workbook};
use standstill::diagnostic::Diagnostic;
use standstill::environment::Environment;
use standstill::recording::{Plan, Protocol, read};

use super::bad_files::{cases, good, of};
use super::sealed::with;
use super::{OneFile, WORDS, plan};

/// The parts of the reader in which a file is refused.
const PARTS: [&str; 9] =
    ["passing", "columns", "channel", "collect", "counter", "trace", "figures", "copies", "clock"];

/// What cannot be provoked from outside.
const INTERNAL: &[&str] = &["a channel of no kind"];

/// The texts that stand where a refusal is made, of one source.
fn headlines(source: &str) -> Vec<String> {
    let source = source.split("#[cfg(test)]").next().unwrap();
    let begins = ["Name::", "unreadable(recording,", "unreadable(\n", "unread(", "let words ="];
    let mut found = Vec::new();
    for begin in begins {
        for (at, _) in source.match_indices(begin) {
            let mut rest = &source[at + begin.len()..];
            if begin == "Name::" {
                rest = rest.trim_start_matches(char::is_alphanumeric);
                let Some(after) = rest.strip_prefix(',') else { continue };
                rest = after;
            }
            for word in ["recording,", "place,", "&format!(", "format!("] {
                rest = rest.trim_start().strip_prefix(word).unwrap_or(rest).trim_start();
            }
            let Some(text) = rest.strip_prefix('"') else { continue };
            let end = text.match_indices('"').find(|(at, _)| !text[..*at].ends_with('\\'));
            found.push(text[..end.unwrap().0].replace("\\n", "\n"));
        }
    }
    found
}

/// Whether a headline is made from a text with places for values.
fn is_of(headline: &str, text: &str) -> bool {
    let mut rest = headline;
    let parts = text.split('{').enumerate();
    parts.map(|(at, it)| if at == 0 { it } else { it.split_once('}').unwrap().1 }).all(|part| {
        let Some(at) = rest.find(part) else { return false };
        rest = &rest[at + part.len()..];
        true
    })
}

/// A file that cannot be read, or not to its end.
struct Broken(&'static [u8]);

impl Read for Broken {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        if self.0.is_empty() {
            return Err(std::io::Error::other("the cable was pulled"));
        }
        self.0.read(to)
    }
}

impl Environment for Broken {
    fn read(&self, _: &Path) -> Result<Vec<u8>, Diagnostic> {
        unreachable!("it is opened")
    }

    fn open(&self, _: &Path) -> Result<Box<dyn Read + Send>, Diagnostic> {
        Ok(Box::new(Broken(self.0)))
    }

    fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        unreachable!("nothing is written")
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        Some(path.to_owned())
    }
}

/// A workbook whose tabs have these headings.
fn book(tabs: &[&[&str]]) -> Vec<u8> {
    let mut book = Workbook::new();
    for headings in tabs {
        let tab = book.add_worksheet();
        for (column, heading) in headings.iter().enumerate() {
            tab.write(0, u16::try_from(column).unwrap(), *heading).unwrap();
        }
    }
    book.save_to_buffer().unwrap()
}

/// The headlines of all bad files, in all ways in which a file can be bad.
fn provoked() -> Vec<String> {
    let mut all: Vec<Diagnostic> = Vec::new();
    for (_, file, words, ..) in cases() {
        all.extend(of(&file, words).err().into_iter().flatten());
    }
    let mut take = |name: &str, bytes: Vec<u8>| {
        let plan = plan(name, &[]);
        let found = read(&plan.recordings[0], &plan, &OneFile::new(name, bytes));
        all.extend(found.err().into_iter().flatten());
    };
    let heads: &[&str] = &["t / ms", "n / (r/min)", "stop", "torque"];
    take("a.xlsx", book(&[&["a", "b"]]));
    take("a.xlsx", book(&[heads, heads]));
    // a formula without its result
    let mut calculated = Workbook::new();
    let tab = calculated.add_worksheet();
    for (column, heading) in (0_u16..).zip(heads) {
        tab.write(0, column, *heading).unwrap();
        tab.write(1, column, 0.0).unwrap();
    }
    tab.write(1, 1, Formula::new("=1*1")).unwrap();
    let bytes = calculated.save_to_buffer().unwrap();
    take("a.xlsx", with(&bytes, "sheet1.xml", "<f>1*1</f><v>0</v>", "<f>1*1</f>"));
    take("a.csv", b"a\0b".to_vec());
    take("a.csv", vec![0xff, 0xfe, 0x41, 0]);
    for field in ["", "OVERFLOW", "x"] {
        all.extend(of(&good().field(20, 1, field), &[]).err().into_iter().flatten());
    }
    // a source that fails at once, and one that fails beyond what is looked at for the headings
    let long: &'static [u8] = Box::leak(
        ("t / ms;n / (r/min);stop;torque\n".to_owned()
            + &(0..40_000).map(|k| format!("{k};1450.0;1;1\n")).collect::<String>())
            .into_bytes()
            .into_boxed_slice(),
    );
    for bytes in [&b""[..], long] {
        let plan = plan("a.csv", &[]);
        let found = read(&plan.recordings[0], &plan, &Broken(bytes));
        all.extend(found.err().into_iter().flatten());
    }
    // counters
    for (counts, step) in [(1000, 450), (1000, 100)] {
        let file = good().headed("t / ms;p;stop;torque").each(|at, row| {
            let at = i64::try_from(at).unwrap();
            row[1] = if step == 100 { at * step } else { at * step % counts }.to_string();
        });
        let text = file.text();
        let words = ["a.csv", "time=t", "position=p scale 1 r per 4096 counts wraps 1000 counts"];
        let rest = WORDS.iter().filter(|it| !it.starts_with("speed=") && !it.starts_with("time="));
        let words: Vec<String> = words.iter().chain(rest).map(|it| (*it).to_owned()).collect();
        let plan = Plan::read(None, &words).unwrap();
        let found = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text));
        all.extend(found.err().into_iter().flatten());
    }
    // a lone sample, and a machine that hardly creeps to its end
    let spike = good().speed(|at, n| if at == 150 { 65_535.0 } else { n });
    let slow = good().speed(|at, n| if at > 215 { 9.9 - (at as f64 - 215.0) * 0.05 } else { n });
    // a brake that needs a few samples
    let quick = |k: f64| {
        good().speed(move |at, n| {
            let braked = n - 140.0 * (at as f64 - 150.0) * k;
            if at > 150 { braked.max((at % 3) as f64 * 0.1) } else { n }
        })
    };
    let mild: &[&str] = &["hold=200 ms", "filter=8 ms"];
    let files =
        [(spike, &[][..]), (slow, mild), (quick(1.0), mild), (quick(0.8), &["filter=2 ms"])];
    for (file, words) in files {
        all.extend(of(&file, words).err().into_iter().flatten());
    }
    // the same stop twice, and a clock that is not that of the setting
    let twice = good().with(|it| {
        let again = it.rows.iter().map(|row| {
            let mut row = row.clone();
            row[0] = (row[0].parse::<i64>().unwrap() + 800).to_string();
            row
        });
        let again: Vec<_> = again.collect();
        it.rows.extend(again);
    });
    let set = ["n_ref=1450 r/min", "t_ramp=0.3 ms", "tol_ramp=5 %"];
    for (file, words) in [(twice, &[][..]), (good(), &set[..])] {
        let plan = plan("a.csv", words);
        let made = Protocol::make(&plan, &[], &OneFile::new("a.csv", file.text()));
        all.extend(made.err().into_iter().flatten());
    }
    // what is said of a channel
    for word in [
        "speed=",
        "speed=n scale 150 r/min",
        "speed=n scale 150 r/min per 1..2 V",
        "speed=n scale 0 r/min per V",
        "speed=n in r/min wraps 7 r/min",
        "speed=u scale 150 r/min per V offset 3 A",
        "speed=n in",
        "stop=stop",
    ] {
        let words: Vec<String> = ["a.csv", word, "time=t in ms", "stop=s falls"]
            .iter()
            .filter(|it| **it == word || !word.starts_with("stop") || !it.starts_with("stop"))
            .map(|it| (*it).to_owned())
            .collect();
        all.extend(Plan::read(None, &words).err().into_iter().flatten());
    }
    for problem in &all {
        assert!(!problem.remedy.is_empty(), "{problem:?}");
    }
    all.into_iter().map(|it| it.headline).collect()
}

#[test]
fn every_refusal_of_the_reader_is_provoked_by_a_file() {
    let provoked = provoked();
    let mut all = Vec::new();
    for part in PARTS {
        let path = format!("{}/src/recording/{part}.rs", env!("CARGO_MANIFEST_DIR"));
        let texts = headlines(&fs::read_to_string(path).unwrap());
        all.extend(texts.into_iter().map(|text| (part, text)));
    }
    // texts that hold hardly a word of their own are made from others of the list
    all.retain(|(_, text)| text.chars().filter(|it| it.is_alphabetic()).count() > 12);
    assert!(all.len() >= 45, "{}", all.len());
    let open = all.iter().filter(|(_, text)| {
        !INTERNAL.contains(&text.as_str()) && !provoked.iter().any(|it| is_of(it, text))
    });
    let open: Vec<String> = open.map(|(part, text)| format!("{part}: {text}")).collect();
    assert!(open.is_empty(), "no file provokes\n{}\n{provoked:#?}", open.join("\n"));
}
