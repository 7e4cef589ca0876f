//! The formulas of three sheets written by hand in plain f64, a row at a time, as one would without Standstill.
//!
//! Inputs that the benchmark gives a column to are read by row, in the unit of the column and converted by a
//! factor; the others are constants. Results are in SI. Nothing here looks at ranges or near ties.

use crate::line::Line;

/// What the rows of a sheet come to: a column for each result and each check.
#[derive(Default)]
pub(crate) struct ByHand {
    pub(crate) results: Vec<Vec<f64>>,
    pub(crate) checks: Vec<Vec<bool>>,
}

impl ByHand {
    fn new<const R: usize, const C: usize>(
        rows: std::ops::Range<usize>,
        work: impl Fn(usize) -> ([f64; R], [bool; C]),
    ) -> Self {
        let mut results: [Vec<f64>; R] = std::array::from_fn(|_| Vec::with_capacity(rows.len()));
        let mut checks: [Vec<bool>; C] = std::array::from_fn(|_| Vec::with_capacity(rows.len()));
        for row in rows {
            let (found, holds) = work(row);
            for (to, value) in results.iter_mut().zip(found) {
                to.push(value);
            }
            for (to, value) in checks.iter_mut().zip(holds) {
                to.push(value);
            }
        }
        Self { results: results.into(), checks: checks.into() }
    }
}

const RPM: f64 = std::f64::consts::TAU / 60.0;
const MS: f64 = 1e-3;
const MM: f64 = 1e-3;

pub(crate) fn separation_curtain(line: &Line, rows: std::ops::Range<usize>) -> ByHand {
    let [t, d, z] = line.columns(["T", "d", "Z"]);
    let of_2010 = true;
    ByHand::new(rows, |row| {
        let (t, d, z) = (t[row] * MS, d[row] * MM, z[row] * MM);
        let (s, k, c) = curtain(t, d, z);
        ([s, up(s, 0.005), t, k, c], [of_2010 || d <= 0.040, !of_2010 || z == 0.0])
    })
}

#[inline]
fn curtain(t: f64, d: f64, z: f64) -> (f64, f64, f64) {
    let c_fine = (8.0 * (d - 0.014)).max(0.0);
    let fine = d <= 0.040;
    let near = fine && 2.0 * t + c_fine <= 0.5;
    let k = if near { 2.0 } else { 1.6 };
    let c = if fine { c_fine } else { 0.850 };
    let low = if near {
        0.1
    } else if fine {
        0.5
    } else {
        c
    };
    ((k * t + c).max(low) + z, k, c)
}

#[inline]
fn up(x: f64, step: f64) -> f64 {
    (x / step).ceil() * step
}

pub(crate) fn ramp_stop(line: &Line, rows: std::ops::Range<usize>) -> ByHand {
    let [n_0, j, t_dead, t_ramp, f, t_0, t_max] =
        line.columns(["n_0", "J", "t_dead", "t_ramp", "f", "T_0", "T_max"]);
    let (t_load, lead, n_rated, n_break) = (0.0, 0.0, 1500.0 * RPM, 3000.0 * RPM);
    ByHand::new(rows, |row| {
        let (n_0, j, t_dead) = (n_0[row] * RPM, j[row], t_dead[row] * MS);
        let (t_ramp, f, t_0, t_max) = (t_ramp[row], f[row], t_0[row], t_max[row]);
        let t_stop = t_dead + t_ramp;
        let phi_stop = n_0 * (t_dead + t_ramp / 2.0);
        let s_stop = phi_stop * lead;
        let a_mean = n_0 / t_ramp;
        let a_peak = a_mean / (1.0 - f);
        let t_a = j * a_peak;
        let t_peak = t_a - t_0 - t_load;
        let g = f / (2.0 * (1.0 - f));
        let besides = g * (t_0 + t_load);
        let u = if g > 0.0 {
            let root = (besides * besides + 3.0 * g * t_a * t_a).sqrt();
            ((besides + root) / (3.0 * g * t_a)).min(1.0)
        } else {
            1.0
        };
        let n_peak = n_0 * (1.0 - g * u * u);
        let p_peak = (t_a * u - t_0 - t_load).max(0.0) * n_peak;
        let t_there = t_max * n_rated / n_0.max(n_rated) * n_break / n_0.max(n_break);
        let t_least = j * n_0 / ((1.0 - f) * (t_there + t_0 + t_load).max(1e-9));
        let margin = t_there - t_peak;
        (
            [t_stop, phi_stop, s_stop, a_mean, a_peak, t_peak, margin, p_peak, t_least, t_there],
            [t_peak <= t_there, j * a_mean >= t_0 + t_load],
        )
    })
}

/// Nodes and weights of the pair 7-15 (R. Piessens et al., "QUADPACK", 1983).
const PAIR: [(f64, f64, f64); 8] = [
    (0.9914553711208126, 0.022935322010529224, 0.0),
    (0.9491079123427585, 0.06309209262997856, 0.1294849661688697),
    (0.8648644233597691, 0.10479001032225019, 0.0),
    (0.7415311855993945, 0.14065325971552592, 0.27970539148927664),
    (0.5860872354676911, 0.1690047266392679, 0.0),
    (0.4058451513773972, 0.19035057806478542, 0.3818300505051189),
    (0.20778495500789848, 0.20443294007529889, 0.0),
    (0.0, 0.20948214108472782, 0.4179591836734694),
];

fn integral(f: &impl Fn(f64) -> f64, from: f64, to: f64, depth: u32) -> f64 {
    let (middle, half) = (from.midpoint(to), (to - from) / 2.0);
    let (mut many, mut few) = (0.0, 0.0);
    for (node, weight, fewer) in PAIR {
        let value =
            if node == 0.0 { f(middle) } else { f(middle - half * node) + f(middle + half * node) };
        many += weight * value;
        few += fewer * value;
    }
    if depth == 0 || (many - few).abs() <= 1e-12 * many.abs() {
        return many * half;
    }
    integral(f, from, middle, depth - 1) + integral(f, middle, to, depth - 1)
}

/// Time and angle of a run-down.
#[inline]
fn run_down(j: f64, n_0: f64, n_end: f64, t_0: f64, t_load: f64, b: f64, c: f64) -> (f64, f64) {
    let torque = |w: f64| t_0 + t_load + b * w + c * w * w;
    (integral(&|w| j / torque(w), n_end, n_0, 20), integral(&|w| j * w / torque(w), n_end, n_0, 20))
}

const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6,
    6.2, 6.8, 7.5, 8.2, 9.1,
];

fn below_in_e24(x: f64) -> f64 {
    let decade = 10f64.powi(x.log10().floor() as i32);
    let found = E24.iter().rev().find(|value| **value * decade <= x);
    found.map_or(9.1 * decade / 10.0, |value| value * decade)
}

/// The whole of `safe-stop`, drag `b` and `c` as given to all rows.
pub(crate) fn safe_stop(line: &Line, rows: std::ops::Range<usize>) -> ByHand {
    let [j_load, i, j_motor, n_0, t_0, t_ramp, t_max] =
        line.columns(["J_load", "i", "J_motor", "n_0", "T_0", "t_ramp", "T_max"]);
    let [t_cycle, t_sensor, t_drive, d, s_there] =
        line.columns(["t_cycle", "t_sensor", "t_drive", "d", "S_there"]);
    let (b, c) = (line.shared("b"), line.shared("c"));
    let (j_brake, eta_back, t_load, n_end) = (0.0003, 1.0, 0.0, 0.0);
    let (f, n_ref, tol_ramp, t_resp, tol_delay, t_reserve) =
        (0.0, 1500.0 * RPM, 0.05, 0.020, 0.02, 0.0);
    let (ramp_step, ramp_low, ramp_high) = (0.01, 0.01, 600.0);
    let (delay_step, delay_low, delay_high) = (0.010, 0.010, 300.0);
    let (t_delay_used, eta_motor, eta_drive) = (0.0, 1.0, 1.0);
    let (c_link, u_0, u_chop, u_trip, chopper) = (470e-6, 565.0, 780.0, 820.0, true);
    let (i_max, tol_r, t_logic, z) = (5.0, 0.10, 0.020, 0.0);
    let (tol_sensor, tol_logic, t_network, tol_network, tol_drive, tol_stop) =
        (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    let stands_on_works = false;
    ByHand::new(rows, |row| {
        let (j_load, i, j_motor, n_0) = (j_load[row], i[row], j_motor[row], n_0[row] * RPM);
        let (t_0, t_ramp, t_max, t_cycle) = (t_0[row], t_ramp[row], t_max[row], t_cycle[row]);
        let (t_sensor, t_drive) = (t_sensor[row] * MS, t_drive[row] * MS);
        let (d, s_there) = (d[row] * MM, s_there[row] * MM);
        // inertia
        let j_load_ref = j_load / (i * i);
        let j_motor_side = j_motor + j_brake;
        let j_ref = j_motor_side + j_load_ref;
        let j_stop = j_motor_side + j_load_ref * eta_back;
        // run-down at once
        let (t_release, phi_release) = run_down(j_ref, n_0, n_end, t_0, t_load, b, c);
        // ramp, then release
        let t_ramp_set = up((t_ramp * n_ref / n_0).max(ramp_low), ramp_step);
        let t_ramp_real = t_ramp_set * n_0 / n_ref;
        let t_quick = t_ramp_real * (1.0 - tol_ramp);
        let t_slow = t_ramp_real * (1.0 + tol_ramp);
        let t_need = t_resp + t_slow;
        let t_delay = up((t_need / (1.0 - tol_delay) + t_reserve).max(delay_low), delay_step);
        let t_d = if t_delay_used > 0.0 { t_delay_used } else { t_delay };
        let (t_early, t_late) = (t_d * (1.0 - tol_delay), t_d * (1.0 + tol_delay));
        let margin = t_early - t_need;
        let released = t_early.min(t_need);
        let before = released.min(t_resp);
        let x = if t_early >= t_need { 1.0 } else { ((released - before) / t_slow).min(1.0) };
        let (left, turned) = if f > 0.0 && x < f {
            (1.0 - x * x / (2.0 * f * (1.0 - f)), x - x * x * x / (6.0 * f * (1.0 - f)))
        } else if x <= 1.0 - f {
            let y = x - f / 2.0;
            (1.0 - y / (1.0 - f), x - y * y / (2.0 * (1.0 - f)) - f * f / (24.0 * (1.0 - f)))
        } else {
            let y = 1.0 - x;
            (y * y / (2.0 * f * (1.0 - f)), 0.5 - y * y * y / (6.0 * f * (1.0 - f)))
        };
        let n_left = n_0 * left;
        let (t_coast, phi_coast) = run_down(j_ref, n_left.max(n_end), n_end, t_0, t_load, b, c);
        let works = released + t_coast;
        let fails = t_late + t_release;
        let phi_works = n_0 * (before + t_slow * turned) + phi_coast;
        let phi_fails = n_0 * t_late + phi_release;
        // torque of the ramp
        let a_mean = n_0 / t_quick;
        let t_peak = j_stop * a_mean / (1.0 - f) - t_0 - t_load;
        let t_least = j_stop * n_0 / ((1.0 - f) * (t_max + t_0 + t_load));
        // energy
        let torque = j_stop * a_mean - t_load;
        let n_turn = if torque <= t_0 {
            0.0
        } else if torque >= t_0 + b * n_0 + c * n_0 * n_0 {
            n_0
        } else {
            2.0 * (torque - t_0) / (b + (b * b + 4.0 * c * (torque - t_0)).sqrt())
        };
        let n_2 = n_turn * n_turn;
        let e_shaft =
            ((torque - t_0) * n_2 / 2.0 - b * n_2 * n_turn / 3.0 - c * n_2 * n_2 / 4.0) / a_mean;
        let e = e_shaft * eta_motor * eta_drive;
        let hard = j_stop * a_mean / (1.0 - f) - t_load;
        let n_hard = n_0 * (1.0 - f / (2.0 * (1.0 - f))).max(2.0 / 3.0);
        let n_peak = if hard <= t_0 {
            0.0
        } else if hard >= t_0 + 2.0 * b * n_hard + 3.0 * c * n_hard * n_hard {
            n_hard
        } else {
            (hard - t_0) / (b + (b * b + 3.0 * c * (hard - t_0)).sqrt())
        };
        let p_peak =
            n_peak * (hard - t_0 - b * n_peak - c * n_peak * n_peak) * eta_motor * eta_drive;
        // link and resistor
        let u_2 = (u_0 * u_0 + 2.0 * e / c_link).sqrt();
        let p = p_peak.max(1.0);
        let r_low = u_chop / i_max;
        let r_high = u_chop * u_chop / p;
        let r = below_in_e24(r_high / (1.0 + tol_r));
        let p_mean = e / t_cycle;
        let t_on = e * r * (1.0 + tol_r) / (u_chop * u_chop);
        // chain and distance
        let front = t_sensor
            + tol_sensor
            + t_logic
            + tol_logic
            + t_network
            + tol_network
            + t_drive
            + tol_drive;
        let (chain_works, chain_fails) = (front + works + tol_stop, front + fails + tol_stop);
        let (s_works, k_works, _) = curtain(chain_works, d, z);
        let (s_fails, k_fails, _) = curtain(chain_fails, d, z);
        let (s_works, s_fails) = (up(s_works, 0.005), up(s_fails, 0.005));
        let (s, t_used, k) = if stands_on_works {
            (s_works, chain_works, k_works)
        } else {
            (s_fails, chain_fails, k_fails)
        };
        let step = |x: f64, step: f64| (x / step).round() * step == x;
        (
            [
                t_ramp_set,
                t_delay,
                works,
                fails,
                t_release,
                phi_works / i,
                phi_fails / i,
                phi_release / i,
                margin,
                n_left,
                j_ref,
                t_peak,
                t_least,
                e,
                p_peak,
                p_mean.ceil(),
                u_2,
                r,
                r_low,
                r_high,
                chain_works,
                chain_fails,
                s_works,
                s_fails,
                s,
                t_used,
                k,
            ],
            [
                s <= s_there,
                !stands_on_works,
                t_ramp_set >= ramp_low,
                t_ramp_set <= ramp_high,
                step(t_ramp_set, ramp_step),
                t_delay >= delay_low,
                t_delay <= delay_high,
                step(t_delay, delay_step),
                t_load <= t_0,
                n_end == 0.0,
                t_need <= t_early,
                t_d <= delay_high,
                t_slow <= t_release,
                t_peak <= t_max,
                j_stop * a_mean >= t_0 + t_load,
                e_shaft > 0.0,
                chopper || u_2 < u_trip,
                r_low <= r * (1.0 - tol_r),
                t_on < t_cycle,
                p_mean <= 0.5 * p,
                d <= 0.040 || z == 0.0,
            ],
        )
    })
}
