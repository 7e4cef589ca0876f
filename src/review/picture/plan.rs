//! Plan view: hazard, protective device, and the distance between them with the parts of its sum.

use super::plot::framed;
use super::{Roles, at, role, told};

const LEFT: f64 = 40.0;
const RIGHT: f64 = 560.0;
const MIDDLE: f64 = 96.0;

/// The plan.
pub(super) fn draw(roles: &Roles) -> String {
    let get = |name| role(roles, name);
    // the choice `stands_on`: 0 a ramp that works, 1 one that fails
    let second = roles.contains_key("which") && get("which") > 0.5;
    let (k, t, c, s) = if second {
        (get("K2"), get("T2"), get("C2"), get("S2"))
    } else {
        (get("K"), get("T"), get("C"), get("S"))
    };
    let there = roles.get("there").copied();
    let far = s.max(there.unwrap_or(0.0));
    let x = |metres: f64| LEFT + metres / far * (RIGHT - LEFT);
    let rest = s - k * t - c - get("Z");
    let millimetres = |metres: f64| format!("{} mm", told(metres * 1000.0));
    let mut to = String::new();
    // the hazard, the floor line, the approach
    to.push_str("<path class=\"hz\" d=\"M20 70h20v52h-20zM20 83l13 -13M20 96l20 -20M20 109l20 -20M20 122l20 -20M33 122l7 -7\"/>");
    to.push_str("<text x=\"20\" y=\"60\">danger</text>");
    to.push_str("<ellipse class=\"ps\" cx=\"612\" cy=\"96\" rx=\"9\" ry=\"23\"/><circle class=\"ps\" cx=\"611\" cy=\"96\" r=\"8\"/><path class=\"ap\" d=\"M598 96h-22m7 -5l-7 5l7 5\"/>");
    let post = |place: f64, class: &str| {
        format!(
            "<path class=\"{class}\" d=\"M{0} 54V138\"/><path class=\"po\" d=\"M{1} 48h10v8h-10zM{1} 136h10v8h-10z\"/>",
            at(place),
            at(place - 5.0)
        )
    };
    if let Some(there) = there {
        to.push_str(&post(x(there), "th"));
    }
    to.push_str(&post(x(s), "cu"));
    // the farther one is named above the nearer, so that no leader crosses a name
    let mut names = vec![(s, format!("needed: {}", millimetres(s)))];
    if let Some(there) = there {
        let name = (there, format!("stands: {}", millimetres(there)));
        names.insert(usize::from(there >= s), name);
    }
    for (place, (metres, name)) in names.iter().rev().enumerate() {
        let up = if place == 0 && names.len() > 1 { 20.0 } else { 40.0 };
        to.push_str(&format!(
            "<text class=\"e\" x=\"{}\" y=\"{}\">{name}</text>",
            at(x(*metres) + 3.0),
            at(up)
        ));
        if up < 30.0 {
            to.push_str(&format!("<path class=\"ld\" d=\"M{} 25V48\"/>", at(x(*metres))));
        }
    }
    // the parts of the sum
    let parts = [
        (
            k * t,
            format!(
                "K·T = {} mm/s · {} ms = {}",
                told(k * 1000.0),
                told(t * 1000.0),
                millimetres(k * t)
            ),
        ),
        (c, format!("C = {}: reach towards the danger", millimetres(c))),
        (get("Z"), format!("Z = {}: supplement", millimetres(get("Z")))),
        (rest, format!("{}: rounding up, or the least distance", millimetres(rest))),
    ];
    let mut from = 0.0;
    let mut line = 198.0;
    let letters = ["a", "b", "c", "d"];
    let mut shown = 0;
    for (length, name) in parts {
        // less than a tenth of a millimetre is rounding
        if length < 1e-4 {
            continue;
        }
        let (start, end) = (x(from), x(from + length));
        let letter = letters.get(shown).copied().unwrap_or("");
        to.push_str(&format!(
            "<path class=\"dm\" d=\"M{0} 150v12M{1} 150v12M{0} 156H{1}\"/>",
            at(start),
            at(end)
        ));
        to.push_str(&format!(
            "<text class=\"m\" x=\"{}\" y=\"176\">{letter}</text>",
            at((start + end) / 2.0)
        ));
        to.push_str(&format!(
            "<text x=\"{}\" y=\"{}\">{letter}</text><text x=\"{}\" y=\"{1}\">{name}</text>",
            at(LEFT),
            at(line),
            at(LEFT + 20.0)
        ));
        line += 20.0;
        from += length;
        shown += 1;
    }
    to.push_str(&format!("<path class=\"fl\" d=\"M40 {0}H{1}\"/>", at(MIDDLE), at(x(s))));
    let words = format!(
        "The curtain must stand {} from the danger{}. It stands on {} ms from the sensor to standstill and an approach speed of {} mm/s.",
        millimetres(s),
        there.map_or(String::new(), |there| format!(" and stands at {}", millimetres(there))),
        told(t * 1000.0),
        told(k * 1000.0)
    );
    framed("Plan view of danger, light curtain and separation distance", &words, line - 8.0, &to)
}
