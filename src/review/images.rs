//! Pictures and drawings that a document names: a file beside it goes into the page, and its hash with it.

use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use percent_encoding::percent_decode_str;
use pulldown_cmark::{CowStr, Event, Parser, Tag};

use super::markup::base64;
use super::model::options;
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::environment::Environment;

/// What a browser shows, by its first bytes: PNG (ISO/IEC 15948), JPEG (ISO/IEC 10918-1), GIF and WebP (their
/// published specifications), SVG (the recommendation of the W3C).
fn media_type(bytes: &[u8]) -> Option<&'static str> {
    let known: [(&[u8], &str); 4] = [
        (b"\x89PNG\r\n\x1a\n", "image/png"),
        (b"\xff\xd8\xff", "image/jpeg"),
        (b"GIF87a", "image/gif"),
        (b"GIF89a", "image/gif"),
    ];
    let webp = bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP".as_slice());
    let start = known.iter().find(|(start, _)| bytes.starts_with(start)).map(|(_, type_)| *type_);
    start.or(webp.then_some("image/webp")).or_else(|| {
        let text = std::str::from_utf8(bytes).ok()?;
        let text = text.trim_start_matches('\u{feff}').trim_start();
        (text.starts_with("<svg") || (text.starts_with('<') && text.contains("<svg")))
            .then_some("image/svg+xml")
    })
}

/// Whether an address leads away from the folder of the document; one letter before a colon is a drive.
pub(super) fn is_elsewhere(address: &str) -> bool {
    let scheme = address.split_once(':').map_or("", |(scheme, _)| scheme);
    let named = scheme.len() > 1 && scheme.chars().all(|it| it.is_ascii_alphanumeric());
    named || address.starts_with("//")
}

/// The pictures of a document that are files: where each stands, and itself as an address that holds its bytes.
pub(super) fn read(
    source: &Arc<Source>,
    folder: &Path,
    environment: &dyn Environment,
    problems: &mut Vec<Diagnostic>,
) -> Vec<(Range<usize>, String)> {
    let mut found = Vec::new();
    for (event, range) in Parser::new_ext(&source.text, options()).into_offset_iter() {
        let Event::Start(Tag::Image { dest_url, title, .. }) = event else { continue };
        let place = Place::text(source, range.clone());
        if title.contains('{') && title_range(&source.text, &range, &title).is_none() {
            let headline = "a value stands in a title that is written elsewhere or with `\\`";
            let remedy = "write the title behind the name of the picture: `![words](file \"title {name.result}\")`";
            problems.push(
                Diagnostic::error(Name::ReviewLine, headline).at(place.clone()).remedy(remedy),
            );
        }
        if is_elsewhere(&dest_url) {
            continue;
        }
        let name = percent_decode_str(&dest_url).decode_utf8_lossy().into_owned();
        let refused = |headline: String, remedy: &str| {
            Diagnostic::error(Name::UnreadableFile, headline).at(place.clone()).remedy(remedy)
        };
        match environment.read(&folder.join(&name)) {
            Ok(bytes) => match media_type(&bytes) {
                Some(type_) => {
                    found.push((range, format!("data:{type_};base64,{}", base64(&bytes))));
                }
                None => problems.push(refused(
                    format!("`{name}` is no picture that a page can show"),
                    "save it as .svg, .png, .jpg, .gif or .webp, and name that file",
                )),
            },
            Err(problem) => problems.push(refused(
                format!("the picture `{name}`: {}", problem.headline),
                "put the file beside the document, or correct its name",
            )),
        }
    }
    found
}

/// Where the title of a picture stands in the text; none where it is written elsewhere, or in other signs.
pub(super) fn title_range(
    text: &str,
    image: &Range<usize>,
    title: &CowStr<'_>,
) -> Option<Range<usize>> {
    if title.is_empty() {
        return None;
    }
    let at = image.start + text.get(image.clone())?.rfind(&**title)?;
    Some(at..at + title.len())
}
