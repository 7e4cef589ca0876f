//! The records of a binary part: [MS-XLSB], 2.1.4 and 2.5.168 (from memory).

/// The records of a part with their types and contents, up to one that goes on beyond the end.
pub(crate) fn records(part: &[u8]) -> impl Iterator<Item = (u16, &[u8])> {
    let mut rest = part;
    std::iter::from_fn(move || {
        let (kind, after) = kind(rest)?;
        let (length, after) = length(after)?;
        let (content, after) = after.split_at_checked(length)?;
        rest = after;
        Some((kind, content))
    })
}

/// A text with its length before it, and what follows it.
pub(crate) fn wide(bytes: &[u8]) -> Option<(String, &[u8])> {
    let (count, rest) = bytes.split_first_chunk()?;
    let bytes = usize::try_from(u32::from_le_bytes(*count)).ok()?.checked_mul(2)?;
    let (text, rest) = rest.split_at_checked(bytes)?;
    let units: Vec<u16> = text
        .chunks_exact(2)
        .filter_map(|it| it.first_chunk())
        .map(|it| u16::from_le_bytes(*it))
        .collect();
    Some((String::from_utf16_lossy(&units), rest))
}

/// The type of a record: seven bits a byte, the lower first, at most two bytes.
pub(crate) fn kind(bytes: &[u8]) -> Option<(u16, &[u8])> {
    let (low, rest) = bytes.split_first()?;
    if low & 0x80 == 0 {
        return Some((u16::from(*low), rest));
    }
    let (high, rest) = rest.split_first()?;
    Some((u16::from(low & 0x7f) | u16::from(high & 0x7f) << 7, rest))
}

/// The length of a record: seven bits a byte, the lower first, at most four bytes.
pub(crate) fn length(mut bytes: &[u8]) -> Option<(usize, &[u8])> {
    let mut length = 0;
    for place in 0..4 {
        let (byte, rest) = bytes.split_first()?;
        bytes = rest;
        length |= usize::from(byte & 0x7f) << (7 * place);
        if byte & 0x80 == 0 {
            break;
        }
    }
    Some((length, bytes))
}
