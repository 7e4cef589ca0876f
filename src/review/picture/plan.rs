//! Plan view: hazard, protective device, and the distance between them with the parts of its sum.

use super::Roles;
use super::svg::{Svg, at, four_digits};

const LEFT: f64 = 40.0;
const RIGHT: f64 = 560.0;
const MIDDLE: f64 = 96.0;

/// A place in mm to a tenth: what is needed rounded up, what is there rounded down.
fn place_text(metres: f64, up: bool) -> String {
    // what lies within a millionth of a tenth is that tenth
    let tenths = metres * 10_000.0;
    let near = tenths.round();
    let tenths = match (tenths - near).abs() < 1e-6 {
        true => near,
        false if up => tenths.ceil(),
        false => tenths.floor(),
    };
    format!("{} mm", tenths / 10.0)
}

/// The plan; the device by its name, and whether it looks across a gap from post to post.
pub(super) fn draw(roles: &Roles, (device, across): (&str, bool)) -> String {
    let get = |name| roles.get(name);
    // the choice `stands_on`: 0 a ramp that works, 1 one that fails
    let second = get("which") > 0.5;
    let (k, t, c, s) = if second {
        (get("K2"), get("T2"), get("C2"), get("S2"))
    } else {
        (get("K"), get("T"), get("C"), get("S"))
    };
    let there = roles.try_get("there");
    let far = s.max(there.unwrap_or(0.0));
    // a picture of nothing still has a place for everything
    let far = if far > 0.0 { far } else { 1.0 };
    let x = |metres: f64| LEFT + metres / far * (RIGHT - LEFT);
    let rest = s - k * t - c - get("Z");
    let millimetres = |metres: f64| format!("{} mm", four_digits(metres * 1000.0));
    let mut to = Svg::default();
    // the hazard, the approach
    to.path(
        "hz",
        "M20 70h20v52h-20zM20 83l13 -13M20 96l20 -20M20 109l20 -20M20 122l20 -20M33 122l7 -7",
    );
    to.text("", 20.0, 60.0, "danger");
    to.path(
        "ps",
        "M603 96a9 23 0 1 0 18 0a9 23 0 1 0 -18 0zM603 96a8 8 0 1 0 16 0a8 8 0 1 0 -16 0z",
    );
    to.path("ap", "M598 96h-22m7 -5l-7 5l7 5");
    let post = |to: &mut Svg, place: f64, class: &str| {
        to.path(class, &format!("M{} 54V138", at(place)));
        if across {
            let side = at(place - 5.0);
            to.path("po", &format!("M{side} 48h10v8h-10zM{side} 136h10v8h-10z"));
        }
    };
    if let Some(there) = there {
        post(&mut to, x(there), "th");
    }
    post(&mut to, x(s), "cu");
    // the farther one is named above the nearer, so that no leader crosses a name
    let needed = (s, format!("needed: {}", place_text(s, true)));
    let names = match there {
        None => vec![needed],
        Some(there) => {
            let stands = (there, format!("stands: {}", place_text(there, false)));
            if there >= s { vec![stands, needed] } else { vec![needed, stands] }
        }
    };
    for (place, (metres, name)) in names.iter().enumerate() {
        let up = if place == 0 && names.len() > 1 { 20.0 } else { 40.0 };
        // a name near the danger has no room on its left
        let (class, shift) = if x(*metres) < 220.0 { ("", -3.0) } else { ("e", 3.0) };
        to.text(class, x(*metres) + shift, up, name);
        if up < 30.0 {
            to.path("ld", &format!("M{} 25V48", at(x(*metres))));
        }
    }
    // the parts of the sum
    let parts = [
        (
            k * t,
            format!(
                "K·T = {} mm/s · {} ms = {}",
                four_digits(k * 1000.0),
                four_digits(t * 1000.0),
                millimetres(k * t)
            ),
        ),
        (c, format!("C = {}: reach towards the danger", millimetres(c))),
        (get("Z"), format!("Z = {}: supplement", millimetres(get("Z")))),
        (rest, format!("{}: rounding up, or the least distance", millimetres(rest))),
    ];
    let mut from = 0.0;
    let mut line = 198.0;
    let mut last = f64::MIN;
    let letters = ["a", "b", "c", "d"];
    let mut shown = 0;
    for (length, name) in parts {
        // less than a tenth of a millimetre is rounding
        if length < 1e-4 {
            continue;
        }
        let (start, end) = (x(from), x(from + length));
        let letter = letters.get(shown).copied().unwrap_or("");
        to.path("dm", &format!("M{0} 150v12M{1} 150v12M{0} 156H{1}", at(start), at(end)));
        // letters of short parts keep their distance
        last = ((start + end) / 2.0).max(last + 12.0);
        to.text("m", last, 176.0, letter);
        to.text("", LEFT, line, letter);
        to.text("", LEFT + 20.0, line, &name);
        line += 20.0;
        from += length;
        shown += 1;
    }
    to.path("fl", &format!("M40 {}H{}", at(MIDDLE), at(x(s))));
    let words = format!(
        "The {device} must stand {} from the danger{}. The distance is that for {} ms until standstill and an approach speed of {} mm/s.",
        place_text(s, true),
        there.map_or(String::new(), |there| format!(" and stands at {}", place_text(there, false))),
        four_digits(t * 1000.0),
        four_digits(k * 1000.0)
    );
    let title = format!("Plan view of danger, {device} and separation distance");
    to.framed(&title, &words, line - 8.0)
}
