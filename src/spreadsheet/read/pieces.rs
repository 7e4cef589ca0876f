//! Texts of several pieces that look different: a raised digit, a word that is struck through. Joined to one text, they
//! say something else.

use quick_xml::events::Event;

use super::xml::{Walk, attribute, flag, unescape};
use crate::spreadsheet::model::pieces::Pieces;

impl Pieces {
    /// Adds those of a part: of shared texts (`si`) or of texts in their cells (`is`); ISO/IEC 29500-1, 18.4.
    ///
    /// # Errors
    /// What is broken in the part.
    pub(crate) fn add(&mut self, part: &str, wanted: &str) -> Result<(), String> {
        if !part.contains("strike") && !part.contains("vertAlign") {
            return Ok(());
        }
        let (mut text, mut shown) = (String::new(), String::new());
        let (mut struck, mut raised, mut any_struck) = (false, false, false);
        let mut walk = Walk::new(part);
        while let Some(step) = walk.next()? {
            match &step.event {
                Event::Start(element) | Event::Empty(element) => {
                    match element.local_name().as_ref() {
                        name if name == wanted => {
                            (text, shown, any_struck) = (String::new(), String::new(), false);
                        }
                        "r" => (struck, raised) = (false, false),
                        "strike" => struck = flag(element, "val", true),
                        "vertAlign" => {
                            raised = attribute(element, "val").as_deref() == Some("superscript");
                        }
                        "t" if matches!(step.event, Event::Start(_)) => {
                            let piece = unescape(&walk.text()?);
                            any_struck |= struck && !piece.trim().is_empty();
                            text.push_str(&piece);
                            match raised {
                                true => shown.extend(piece.chars().map(raise)),
                                false => shown.push_str(&piece),
                            }
                        }
                        _ => {}
                    }
                }
                Event::End(element) if element.local_name().as_ref() == wanted => {
                    if any_struck {
                        self.struck.insert(text.clone());
                    }
                    if shown != text {
                        self.raised.insert(std::mem::take(&mut text), std::mem::take(&mut shown));
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }
}

/// A sign as it looks when it is raised.
fn raise(sign: char) -> char {
    match sign {
        '-' | '−' => '⁻',
        digit => match digit.to_digit(10).and_then(|it| "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().nth(it as usize))
        {
            Some(raised) => raised,
            None => digit,
        },
    }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::*;

    #[test]
    fn pieces_are_seen_apart() {
        let part = "<sst><si><r><t>10</t></r><r><rPr><vertAlign val=\"superscript\"/></rPr><t>-3</t></r></si>\
            <si><r><rPr><strike/></rPr><t>2900</t></r><r><t>1450</t></r></si>\
            <si><r><rPr><strike val=\"0\"/></rPr><t>7</t></r></si><si><t>plain</t></si></sst>";
        let mut pieces = Pieces::default();
        pieces.add(part, "si").unwrap();
        assert_eq!(pieces.raised, BTreeMap::from([("10-3".to_owned(), "10⁻³".to_owned())]));
        assert_eq!(pieces.struck, BTreeSet::from(["29001450".to_owned()]));
    }
}
