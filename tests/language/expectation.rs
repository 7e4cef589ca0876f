//! The expectations that a sheet carries in its comments.

/// What a sheet says must happen.
#[derive(Debug, Default)]
pub(super) struct Wanted {
    /// Problems, each at its line.
    pub(super) problems: Vec<Expectation>,
    /// Results by name, as a person reads them.
    pub(super) results: Vec<(String, String)>,
    /// Values to run the sheet on, if it is to be run.
    pub(super) run: Option<Vec<(String, String)>>,
}

/// One problem.
#[derive(Debug)]
pub(super) struct Expectation {
    pub(super) line: usize,
    pub(super) column: usize,
    pub(super) name: String,
    pub(super) words: String,
}

/// Reads the comments that begin with `#!` and `#=`.
pub(super) fn read(text: &str) -> Wanted {
    let mut wanted = Wanted::default();
    let mut waiting: Vec<(usize, String, String)> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let line = line.trim();
        if let Some(rest) = line.strip_prefix("#= ") {
            let (name, value) = rest.trim().split_once(' ').expect("a result and its value");
            wanted.results.push((name.to_owned(), value.trim().to_owned()));
        } else if let Some(rest) = line.strip_prefix("#! run") {
            let values = rest.split(';').map(str::trim).filter(|part| !part.is_empty());
            let pair = |part: &str| {
                let (name, value) = part.split_once('=').expect("a name and its value");
                (name.trim().to_owned(), value.trim().to_owned())
            };
            wanted.run = Some(values.map(pair).collect());
        } else if let Some(rest) = line.strip_prefix("#! ") {
            let mut parts = rest.splitn(3, ' ');
            let column = parts.next().and_then(|column| column.parse().ok()).expect("a column");
            let name = parts.next().expect("a name").to_owned();
            let words = parts.next().expect("words").trim();
            let words = words.strip_prefix('"').and_then(|words| words.strip_suffix('"'));
            waiting.push((column, name, words.expect("words in quotes").to_owned()));
        } else {
            let here = waiting.drain(..).map(|(column, name, words)| Expectation {
                line: at + 1,
                column,
                name,
                words,
            });
            wanted.problems.extend(here);
        }
    }
    assert!(waiting.is_empty(), "an expectation stands above no line");
    wanted
}
