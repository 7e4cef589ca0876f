// The formulas of safe-stop as a person would write them for one page: plain doubles in SI, no units, no bounds
// of rounding, no faults, ties decided by binary rounding. Inputs and results by their names in the sheet.
export function safeStop(q) {
  const up = (x, step) => Math.ceil(x / step - 1e-9) * step;

  const J_load_ref = q.J_load / q.i ** 2, J_motor_side = q.J_motor + q.J_brake;
  const J_ref = J_motor_side + J_load_ref, J_stop = J_motor_side + J_load_ref * q.eta_back;

  // Simpson's rule over 30 parts, as many values as the page's own rule takes
  const torque = (w) => q.T_0 + q.T_load + q.b * w + q.c * w * w;
  const integral = (f, from, to) => {
    const h = (to - from) / 30;
    let all = f(from) + f(to);
    for (let k = 1; k < 30; k++) all += (k % 2 ? 4 : 2) * f(from + k * h);
    return (all * h) / 3;
  };
  const coast = (from) => ({
    t: integral((w) => J_ref / torque(w), 0, from),
    phi: integral((w) => (J_ref * w) / torque(w), 0, from),
  });

  const t_ramp_set = up(Math.max((q.t_ramp * q.n_ref) / q.n_0, q.t_ramp_low), q.t_ramp_step);
  const t_ramp_real = (t_ramp_set * q.n_0) / q.n_ref;
  const quick = t_ramp_real * (1 - q.tol_ramp), slow = t_ramp_real * (1 + q.tol_ramp);
  const t_need = q.t_resp + slow;
  const t_delay = up(Math.max(t_need / (1 - q.tol_delay) + q.t_reserve, q.t_delay_low), q.t_delay_step);
  const t_d = q.t_delay_used > 0 ? q.t_delay_used : t_delay;
  const t_early = t_d * (1 - q.tol_delay), t_late = t_d * (1 + q.tol_delay), margin = t_early - t_need;
  const t_removed = Math.min(t_early, t_need), t_before = Math.min(t_removed, q.t_resp);
  const x = t_early >= t_need ? 1 : Math.min((t_removed - t_before) / slow, 1);
  const f = q.f, round = f * (1 - f);
  const left = f > 0 && x < f ? 1 - x ** 2 / (2 * round) : x <= 1 - f ? 1 - (x - f / 2) / (1 - f) : (1 - x) ** 2 / (2 * round);
  const turned = f > 0 && x < f ? x - x ** 3 / (6 * round)
    : x <= 1 - f ? x - (x - f / 2) ** 2 / (2 * (1 - f)) - f ** 2 / (24 * (1 - f)) : 0.5 - (1 - x) ** 3 / (6 * round);
  const n_left = q.n_0 * left;
  const full = coast(q.n_0), rest = coast(Math.max(n_left, 0));
  const t_ramp_works = t_removed + rest.t, t_ramp_fails = t_late + full.t;
  const phi_ramp_works = q.n_0 * (t_before + slow * turned) + rest.phi, phi_ramp_fails = q.n_0 * t_late + full.phi;

  const a = q.n_0 / quick;
  const T_peak = (J_stop * a) / (1 - f) - q.T_0 - q.T_load;
  const t_ramp_least = (J_stop * q.n_0) / ((1 - f) * (q.T_max + q.T_0 + q.T_load));
  const T_ramp = J_stop * a - q.T_load, n_0 = q.n_0, b = q.b, c = q.c;
  const n_turn = T_ramp <= q.T_0 ? 0 : T_ramp >= q.T_0 + b * n_0 + c * n_0 ** 2 ? n_0
    : (2 * (T_ramp - q.T_0)) / (b + Math.sqrt(b ** 2 + 4 * c * (T_ramp - q.T_0)));
  const E = (((T_ramp - q.T_0) * n_turn ** 2) / 2 - (b * n_turn ** 3) / 3 - (c * n_turn ** 4) / 4) / a * q.eta_motor * q.eta_drive;
  const T_hard = (J_stop * a) / (1 - f) - q.T_load, n_hard = n_0 * Math.max(1 - f / (2 * (1 - f)), 2 / 3);
  const n_peak = T_hard <= q.T_0 ? 0 : T_hard >= q.T_0 + 2 * b * n_hard + 3 * c * n_hard ** 2 ? n_hard
    : (T_hard - q.T_0) / (b + Math.sqrt(b ** 2 + 3 * c * (T_hard - q.T_0)));
  const P_peak = n_peak * (T_hard - q.T_0 - b * n_peak - c * n_peak ** 2) * q.eta_motor * q.eta_drive;
  const U_2 = Math.sqrt(q.U_0 ** 2 + (2 * E) / q.C_link);

  // IEC 60063, E24
  const E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];
  const R_high = q.U_chop ** 2 / Math.max(P_peak, 1), most = R_high / (1 + q.tol_R), ten = 10 ** (Math.floor(Math.log10(most)) - 1);
  let R = 0;
  for (const two of E24) if (two * ten <= most * (1 + 1e-12)) R = two * ten;
  const P_mean = Math.ceil(E / q.t_cycle - 1e-9);

  const front = q.t_sensor + q.t_logic + q.t_network + q.t_drive;
  const distance = (T) => {
    const fine = Math.max(8 * (q.d - 0.014), 0), isFine = q.d <= 0.04, near = 2 * T + fine <= 0.5 && isFine;
    const K = near ? 2 : 1.6, C = isFine ? fine : 0.85;
    return { K, S: up(Math.max(K * T + C, near ? 0.1 : isFine ? 0.5 : C) + q.Z, 0.005) };
  };
  const T_works = front + t_ramp_works, T_fails = front + t_ramp_fails;
  const works = distance(T_works), fails = distance(T_fails), used = q.stands_on === 0 ? works : fails;
  return {
    t_ramp_set, t_delay, t_ramp_works, t_ramp_fails, t_release: full.t,
    phi_ramp_works: phi_ramp_works / q.i, phi_ramp_fails: phi_ramp_fails / q.i, phi_release: full.phi / q.i,
    t_margin: margin, n_left, J_ref, T_peak, t_ramp_least, E, P_peak, P_mean, U_2, R, R_low: q.U_chop / q.I_max, R_high,
    T_works, T_fails, S_works: works.S, S_fails: fails.S, S: used.S, T_used: q.stands_on === 0 ? T_works : T_fails, K_used: used.K,
    // checks
    checks: [used.S <= q.S_there, q.stands_on !== 0, t_need <= t_early, t_d <= q.t_delay_high, slow <= full.t, T_peak <= q.T_max,
      J_stop * a >= q.T_0 + q.T_load, q.chopper === 0 || U_2 < q.U_trip, q.U_chop / q.I_max <= R * (1 - q.tol_R)],
  };
}
