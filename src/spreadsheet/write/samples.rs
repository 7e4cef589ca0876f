//! Which rows of a long tab the library that reads workbooks reads as well: all of them where it is short
//! or stored in an unusual way, else the first piece, the last, some evenly between, and every piece with
//! a cell that is not stored as nearly all are.

use super::crosscheck::Checksum;

/// Bytes of pieces that are kept to be read again.
const ROOM: usize = 4 << 20;

/// Pieces of a tab, thinned as they pass by so that they fill no more than their room.
#[derive(Default)]
pub(super) struct Samples {
    kept: Vec<Sample>,
    /// The last piece, where it is not among those kept.
    last: Option<Sample>,
    /// One in two to the power of this is kept.
    thinned: u32,
    pieces: usize,
    /// Too many pieces are unusual: the whole file has to be read.
    unusual: bool,
}

struct Sample {
    at: usize,
    must: bool,
    text: String,
    held: Checksum,
}

impl Samples {
    /// The next piece, what it holds, and how many of its rows and cells are stored in an unusual way.
    pub(super) fn take(&mut self, text: String, held: Checksum, odd: usize) {
        let at = self.pieces;
        self.pieces += 1;
        if self.unusual {
            return;
        }
        let sample = Sample { at, must: odd > 0 || at == 0, text, held };
        if !self.stays(&sample) {
            self.last = Some(sample);
            return;
        }
        self.last = None;
        self.kept.push(sample);
        while self.size(|_| true) > ROOM {
            if self.size(|sample| sample.must) > ROOM {
                self.unusual = true;
                self.kept.clear();
                return;
            }
            self.thinned += 1;
            let kept = std::mem::take(&mut self.kept);
            self.kept = kept.into_iter().filter(|sample| self.stays(sample)).collect();
        }
    }

    fn stays(&self, sample: &Sample) -> bool {
        sample.must || sample.at.trailing_zeros() >= self.thinned
    }

    fn size(&self, counts: impl Fn(&Sample) -> bool) -> usize {
        self.kept.iter().filter(|sample| counts(sample)).map(|sample| sample.text.len()).sum()
    }

    /// The part with the kept rows alone, and what they hold; none where the whole tab is to be read.
    pub(super) fn part(&self, opening: &str, closing: &str) -> Option<(String, Checksum)> {
        let samples = || self.kept.iter().chain(&self.last);
        if self.unusual || samples().count() == self.pieces {
            return None;
        }
        let mut held = Checksum::default();
        let mut part = opening.to_owned();
        for sample in samples() {
            part.push_str(&sample.text);
            held.join(sample.held);
        }
        part.push_str(closing);
        Some((part, held))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spreadsheet::{Cell, Position};

    fn held(at: usize) -> Checksum {
        Checksum::one(Position::parse("A1").unwrap(), &Cell::Number(at as f64))
    }

    #[test]
    fn a_short_tab_is_read_whole_and_a_long_one_from_end_to_end() {
        let mut samples = Samples::default();
        samples.take("a".repeat(ROOM / 2), held(0), 0);
        samples.take("b".repeat(ROOM / 2), held(1), 0);
        assert!(samples.part("<", ">").is_none());
        for at in 2..100 {
            // the 42nd has an unusual cell
            let letter = char::from_u32(0x4e00 + at as u32).unwrap().to_string();
            samples.take(letter.repeat(ROOM / 48), held(at), usize::from(at == 41));
        }
        let (part, sum) = samples.part("<", ">").unwrap();
        assert!(part.len() <= ROOM + ROOM / 16 + 2, "{}", part.len());
        assert!(part.starts_with("<aaa") && part.ends_with("\u{4e63}>"));
        assert!(part.contains('\u{4e29}') && !part.contains('b'));
        let mut expected = held(0);
        for at in (1..100).filter(|at| part.contains(char::from_u32(0x4e00 + *at).unwrap())) {
            expected.join(held(at as usize));
        }
        assert!(sum == expected);
    }

    #[test]
    fn a_tab_that_is_unusual_throughout_is_read_whole() {
        let mut samples = Samples::default();
        for at in 0..100 {
            samples.take("x".repeat(ROOM / 50), held(at), 1);
        }
        assert!(samples.part("", "").is_none());
    }
}
