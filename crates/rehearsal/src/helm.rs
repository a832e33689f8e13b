//! How children sail: a boat that gathers and loses way, and a helm who works through a plan.
//!
//! The boat's course and speed are through the water; speed follows the polar with a lag, the rudder brakes in a turn, and
//! that is all a tack or a rounding costs: no loss is put in by hand. Lags and rates are assumed (a pram with a child weighs
//! about 100 kg and regains its way in some ten seconds, common practice, no source).

use crate::chance::{Chance, Wander};
use crate::kind::Setting;
use crate::outing::{Doing, State};
use crate::plan::{Pass, Plan, Task};
use crate::polar::Polar;
use crate::wind::{Field, Wind};
use measure::angle::{DEGREE, wrap};

/// Step of the motion, s.
const STEP: f64 = 0.2;
/// Steps in a second.
const STEPS: usize = 5;
/// Seconds to gather way and to lose it.
const GATHER: f64 = 4.5;
const LOSE: f64 = 3.5;
/// Share of speed lost per radian turned with the rudder hard over.
const RUDDER_BRAKE: f64 = 0.10;
/// Share of its speed a luffing boat keeps.
const LUFFING: f64 = 0.10;
/// Drift of a boat that does not sail, as a share of the wind.
const DRIFT: f64 = 0.03;
/// Distance over which the small eddies of the wind stay alike, m (assumed).
const EDDY: f64 = 60.0;
/// A task nobody finishes is left after this long, s.
const PATIENCE: f64 = 1500.0;

/// What one sailor is like.
#[derive(Debug, Clone)]
pub(crate) struct Sailor {
    /// Factors on the polar upwind and downwind.
    pub(crate) up: f64,
    pub(crate) down: f64,
    /// Offset from the best beat angle, rad.
    pub(crate) point: f64,
    /// Angle off dead downwind on a run, rad.
    broad: f64,
    /// Turn rates in a tack and in a gybe, rad/s.
    tack_rate: f64,
    gybe_rate: f64,
    /// Header that makes them tack, rad, and time they stay on a tack, s.
    header: f64,
    stay: f64,
    overstand: f64,
    follows: bool,
}

impl Sailor {
    fn new(setting: &Setting, chance: &mut Chance) -> Self {
        let spread = if setting.second_world { 0.06 } else { 0.025 };
        let skill = chance.normal(1.0, spread);
        let aim = if setting.second_world { 3.0 } else { 1.5 };
        Self {
            up: skill * setting.chop,
            down: skill * chance.normal(1.0, if setting.second_world { 0.04 } else { 0.01 }),
            point: chance.normal(0.0, aim) * DEGREE,
            broad: chance.between(8.0, if setting.weather.speed < 3.0 { 32.0 } else { 24.0 }) * DEGREE,
            tack_rate: chance.normal(24.0, 4.0).clamp(14.0, 34.0) * DEGREE,
            gybe_rate: chance.normal(24.0, 4.0).clamp(14.0, 34.0) * DEGREE,
            header: chance.between(5.0, 9.0) * DEGREE,
            stay: chance.between(50.0, 120.0),
            overstand: chance.normal(2.0, 2.0) * DEGREE,
            follows: setting.second_world && chance.happens(0.4),
        }
    }
}

/// One boat while the outing is sailed.
struct Boat {
    sailor: Sailor,
    chance: Chance,
    x: f64,
    y: f64,
    course: f64,
    speed: f64,
    rate: f64,
    side: f64,
    task: usize,
    since: f64,
    changed: f64,
    stay: f64,
    capsized_until: f64,
    hand: Wander,
    local: (Wander, Wander),
    trim: Wander,
    mean_wind: f64,
    luffing: bool,
    velocity: [f64; 2],
    drift: [f64; 2],
}

/// What came of it: states once a second for each boat, and when which course mark was left.
pub(crate) struct Sailed {
    pub(crate) states: Vec<Vec<State>>,
    pub(crate) sailors: Vec<Sailor>,
    /// Boat, course mark, second.
    pub(crate) passed: Vec<(usize, usize, f64)>,
}

/// Sails the plan.
pub(crate) fn sail(setting: &Setting, plan: &Plan, field: &Field, polar: &Polar, effect: f64, seed: u64, start: f64) -> Sailed {
    let mut boats: Vec<Boat> = (0..setting.boats).map(|i| Boat::new(setting, plan, i, seed)).collect();
    let local = setting.weather.local;
    let mut eddies: Vec<((Wander, Wander), Chance)> = (0..setting.boats.div_ceil(2))
        .map(|pair| {
            let mut chance = Chance::new(seed, 500 + pair as u64);
            ((Wander::new(&mut chance, local.0 * DEGREE, 60.0), Wander::new(&mut chance, local.1, 40.0)), chance)
        })
        .collect();
    let mut states = vec![Vec::with_capacity(setting.seconds); setting.boats];
    let mut passed = Vec::new();
    for second in 0..setting.seconds {
        let t = second as f64;
        let places: Vec<[f64; 2]> = boats.iter().map(|b| [b.x, b.y]).collect();
        let tacked: Vec<bool> = boats.iter().map(|b| t - b.changed < 2.0).collect();
        for (shared, chance) in &mut eddies {
            shared.0.step(chance, 1.0);
            shared.1.step(chance, 1.0);
        }
        for (i, boat) in boats.iter_mut().enumerate() {
            let current = field.current(t);
            let mut ground = field.wind(t, boat.x, boat.y);
            // Two boats side by side sail in nearly the same eddy: what a pair shares grows as they close.
            let apart = places.get(i ^ 1).map_or(f64::MAX, |p| (p[0] - boat.x).hypot(p[1] - boat.y));
            let (alike, shared) = ((-apart / EDDY).exp(), &eddies[i / 2].0);
            let mix = |own: f64, common: f64| alike * common + (1.0 - alike * alike).sqrt() * own;
            ground.from += mix(boat.local.0.step(&mut boat.chance, 1.0), shared.0.now) / DEGREE;
            ground.speed *= mix(boat.local.1.step(&mut boat.chance, 1.0), shared.1.now).exp();
            if setting.second_world {
                ground.speed *= dirty(i, &places, ground);
            }
            let ground = Wind { from: ground.from.rem_euclid(360.0), ..ground };
            let v = ground.vector();
            let water = Wind::blowing(v[0] - current[0], v[1] - current[1]);
            let near_tack = places.iter().enumerate().any(|(j, p)| j != i && tacked[j] && (p[0] - boat.x).hypot(p[1] - boat.y) < 60.0);
            boat.hand.step(&mut boat.chance, 1.0);
            boat.trim.step(&mut boat.chance, 1.0);
            let way = [boat.speed * boat.course.sin() + boat.drift[0], boat.speed * boat.course.cos() + boat.drift[1]];
            let doing = boat.second(t, setting, plan, polar, effect, i, water, current, near_tack, &mut passed);
            let over_water = boat.velocity;
            // The state is that of the whole second itself; the boat moves by the mean of the second that follows.
            states[i].push(State {
                time: start + t,
                x: places[i][0],
                y: places[i][1],
                over_ground: [way[0] + current[0], way[1] + current[1]],
                over_water: way,
                wind_ground: ground,
                wind_water: water,
                doing,
            });
            boat.x += over_water[0] + current[0];
            boat.y += over_water[1] + current[1];
        }
    }
    Sailed { states, sailors: boats.into_iter().map(|b| b.sailor).collect(), passed }
}

/// Wind left in the lee of the others: up to a tenth gone within four boat lengths straight downwind.
fn dirty(me: usize, places: &[[f64; 2]], wind: Wind) -> f64 {
    let toward = wind.vector();
    let along = [toward[0] / wind.speed, toward[1] / wind.speed];
    let mut left: f64 = 1.0;
    for (j, p) in places.iter().enumerate() {
        if j == me {
            continue;
        }
        let d = [places[me][0] - p[0], places[me][1] - p[1]];
        let lee = d[0] * along[0] + d[1] * along[1];
        let side = (d[0] * along[1] - d[1] * along[0]).abs();
        if (0.5..18.0).contains(&lee) && side < 1.5 + 0.2 * lee {
            left *= 1.0 - 0.12 * (1.0 - lee / 18.0);
        }
    }
    left
}

impl Boat {
    fn new(setting: &Setting, plan: &Plan, i: usize, seed: u64) -> Self {
        let mut chance = Chance::new(seed, 1000 + i as u64);
        let sailor = Sailor::new(setting, &mut chance);
        let hand = Wander::new(&mut chance, if setting.second_world { 4.0 } else { 3.0 } * DEGREE, 7.0);
        let local =
            (Wander::new(&mut chance, setting.weather.local.0 * DEGREE, 60.0), Wander::new(&mut chance, setting.weather.local.1, 40.0));
        let trim = Wander::new(&mut chance, 0.02, 45.0);
        let (x, y) = (plan.harbour[0] + chance.normal(0.0, 8.0), plan.harbour[1] + chance.normal(0.0, 8.0));
        let stay = sailor.stay;
        Self {
            sailor,
            chance,
            x,
            y,
            course: 0.0,
            speed: 0.0,
            rate: 0.0,
            side: 1.0,
            task: 0,
            since: 0.0,
            changed: -100.0,
            stay,
            capsized_until: -1.0,
            hand,
            local,
            trim,
            mean_wind: f64::NAN,
            luffing: false,
            velocity: [0.0, 0.0],
            drift: [0.0, 0.0],
        }
    }

    /// Lives one second: decides, steers, moves. Leaves the mean velocity through the water of that second.
    #[expect(clippy::too_many_arguments, reason = "one call from one loop")]
    fn second(
        &mut self,
        t: f64,
        setting: &Setting,
        plan: &Plan,
        polar: &Polar,
        effect: f64,
        me: usize,
        wind: Wind,
        current: [f64; 2],
        near_tack: bool,
        passed: &mut Vec<(usize, usize, f64)>,
    ) -> Doing {
        let w = wind.from * DEGREE;
        if self.mean_wind.is_nan() {
            self.mean_wind = w;
            self.course = w + 1.6;
        }
        self.mean_wind += wrap(w - self.mean_wind) / 150.0;
        let tasks = &plan.tasks[me];
        while self.finished(&tasks[self.task], t, plan, current) {
            if let Task::Go { mark: Some(mark), .. } = tasks[self.task] {
                passed.push((me, mark, t));
            }
            self.task += 1;
            self.since = t;
        }
        if let Task::Tow { from, to, at, slot } = tasks[self.task] {
            return self.towed(t - at, from, to, slot, current);
        }
        if t < self.capsized_until {
            return self.adrift(wind);
        }
        if !matches!(tasks[self.task], Task::Hold { .. }) && self.chance.happens(setting.capsizes / 60.0 * 1.0_f64.max(wind.speed / 6.0)) {
            self.capsized_until = t + self.chance.between(40.0, 180.0);
        }
        let up_angle = polar.upwind(wind.speed) + self.sailor.point;
        let mut factor = 1.0;
        let (aim, luffing) = match tasks[self.task] {
            Task::Go { to, .. } => (self.aim(to, current, polar, wind), false),
            Task::Hold { at, until } => {
                let far = (at[0] - self.x).hypot(at[1] - self.y);
                self.luffing = far < if self.luffing { 22.0 } else { 7.0 };
                if self.luffing && until - t > 4.0 {
                    (None, true)
                } else if far > 5.0 {
                    (self.aim(at, current, polar, wind), false)
                } else {
                    (None, false)
                }
            }
            Task::Beat { tack, pass, .. } => {
                self.side = tack;
                if pass.and_then(|p| plan.passes.get(p)).and_then(|p: &Pass| p.carries) == Some(me) {
                    factor = 1.0 + effect;
                }
                (None, false)
            }
            Task::Tow { .. } => (None, true),
        };
        let desired = self.desired(t, w, aim, up_angle, polar, wind, near_tack, luffing);
        let mut sum: [f64; 2] = [0.0, 0.0];
        for _ in 0..STEPS {
            self.move_on(w, desired, polar, wind, factor, luffing);
            sum[0] += self.speed * self.course.sin() / STEPS as f64;
            sum[1] += self.speed * self.course.cos() / STEPS as f64;
        }
        let v = wind.vector();
        let adrift = if luffing || self.speed < 0.25 { DRIFT } else { 0.0 };
        self.drift = [0.7 * self.drift[0] + 0.3 * adrift * v[0], 0.7 * self.drift[1] + 0.3 * adrift * v[1]];
        self.velocity = [sum[0] + self.drift[0], sum[1] + self.drift[1]];
        if luffing { Doing::Waiting } else { Doing::Sailing }
    }

    fn finished(&self, task: &Task, t: f64, plan: &Plan, current: [f64; 2]) -> bool {
        if t - self.since > PATIENCE && !matches!(task, Task::Hold { .. } | Task::Tow { .. }) {
            return true;
        }
        match *task {
            Task::Hold { until, .. } | Task::Beat { until, .. } => t >= until,
            Task::Tow { .. } => false,
            Task::Go { to, mark } => {
                let d = [to[0] - self.x, to[1] - self.y];
                let far = d[0].hypot(d[1]);
                let v = [self.velocity[0] + current[0], self.velocity[1] + current[1]];
                let closing = d[0] * v[0] + d[1] * v[1];
                match mark {
                    Some(m) => {
                        let own = (plan.marks[m].x - self.x).hypot(plan.marks[m].y - self.y);
                        far < 2.0 || (far < 14.0 && own < 18.0 && closing < 0.0)
                    }
                    None => far < 8.0,
                }
            }
        }
    }

    /// The bearing to sail for through the water, allowing for the current.
    fn aim(&self, to: [f64; 2], current: [f64; 2], polar: &Polar, wind: Wind) -> Option<f64> {
        let d = [to[0] - self.x, to[1] - self.y];
        let far = d[0].hypot(d[1]);
        let pace = (0.7 * polar.speed(wind.speed, 1.6)).max(0.3);
        let time = (far / pace).min(600.0);
        Some((d[0] - current[0] * time).atan2(d[1] - current[1] * time))
    }

    /// The course wanted, changing tack where the wind or the lay line asks for it.
    #[expect(clippy::too_many_arguments, reason = "the helm looks at all of it")]
    fn desired(&mut self, t: f64, w: f64, aim: Option<f64>, up: f64, polar: &Polar, wind: Wind, near_tack: bool, luffing: bool) -> f64 {
        let hand = self.hand.now;
        if luffing {
            return w - self.side * (62.0 * DEGREE) + 2.0 * hand;
        }
        let Some(aim) = aim else {
            return w - self.side * up + hand;
        };
        let off = wrap(w - aim);
        let ago = t - self.changed;
        let down = polar.downwind(wind.speed).min(core::f64::consts::PI - self.sailor.broad);
        let bored = ago > self.stay;
        if off.abs() < up {
            let lay = -self.side * off >= up - 0.02 + self.sailor.overstand;
            let headed = self.side * wrap(w - self.mean_wind) < -self.sailor.header && ago > 18.0;
            let covers = self.sailor.follows && near_tack && ago > 25.0 && self.chance.happens(0.3);
            // A boat that can lay the course mark on its own tack stays there.
            let fetching = self.side * off >= up - 0.12;
            if ago > 9.0 && (lay || (!fetching && (headed || bored || covers))) {
                self.change(t);
            }
            // After a tack a helm bears away a little to gather way.
            let gather = 10.0 * DEGREE * (-(t - self.changed) / 5.0).exp();
            return w - self.side * (up + gather) + hand;
        }
        if off.abs() > down {
            let lay = self.side * off < 0.0 && off.abs() < down + 0.05;
            if ago > 12.0 && (lay || (bored && self.side * off < core::f64::consts::PI - 0.1)) {
                self.change(t);
            }
            return w - self.side * down + hand;
        }
        let side = if off >= 0.0 { 1.0 } else { -1.0 };
        if side != self.side {
            self.change(t);
        }
        aim + 0.5 * hand
    }

    fn change(&mut self, t: f64) {
        self.side = -self.side;
        self.changed = t;
        self.stay = self.sailor.stay * self.chance.between(0.6, 1.6);
    }

    /// Moves course and speed on by one step.
    fn move_on(&mut self, w: f64, desired: f64, polar: &Polar, wind: Wind, factor: f64, luffing: bool) {
        let (now, wanted) = (wrap(w - self.course), wrap(w - desired));
        let mut turn = wrap(desired - self.course);
        // Turns of a half circle between two reaches go through downwind, as children are told to.
        if now * wanted < 0.0 && now.abs() + wanted.abs() > 150.0 * DEGREE {
            turn = if now > 0.0 {
                -(core::f64::consts::TAU - now.abs() - wanted.abs())
            } else {
                core::f64::consts::TAU - now.abs() - wanted.abs()
            };
        }
        let hard = if now * wanted < 0.0 {
            if now.abs() + wanted.abs() > 150.0 * DEGREE { self.sailor.gybe_rate } else { self.sailor.tack_rate }
        } else if turn.abs() > 25.0 * DEGREE {
            15.0 * DEGREE
        } else {
            6.0 * DEGREE
        };
        // A boat without way does not answer its rudder at once.
        let hard = hard * (0.35 + self.speed / 0.8).min(1.0);
        let rate = (turn / 1.2).clamp(-hard, hard);
        self.rate += (rate - self.rate) * STEP / 0.5;
        self.course = wrap(self.course + self.rate * STEP);
        let angle = wrap(w - self.course);
        let share = (angle.abs() / (100.0 * DEGREE)).min(1.0);
        let skill = self.sailor.up * (1.0 - share) + self.sailor.down * share;
        let mut target = polar.speed(wind.speed, angle) * skill * factor * (1.0 + self.trim.now);
        if luffing {
            target *= LUFFING;
        }
        let lag = if target > self.speed { GATHER } else { LOSE };
        self.speed += (target - self.speed) * STEP / lag;
        self.speed *= 1.0 - RUDDER_BRAKE * (self.rate.abs() - 0.1).max(0.0) * STEP;
        self.speed = self.speed.max(0.0);
    }

    fn adrift(&mut self, wind: Wind) -> Doing {
        let v = wind.vector();
        self.speed *= 0.6;
        self.rate = 0.0;
        self.drift = [DRIFT * v[0], DRIFT * v[1]];
        self.velocity = [self.speed * self.course.sin() + self.drift[0], self.speed * self.course.cos() + self.drift[1]];
        Doing::Capsized
    }

    fn towed(&mut self, since: f64, from: [f64; 2], to: [f64; 2], slot: usize, current: [f64; 2]) -> Doing {
        let d = [to[0] - from[0], to[1] - from[1]];
        let length = d[0].hypot(d[1]).max(1.0);
        let way = (since * 1.5 - 6.0 * slot as f64).min(length);
        let slot_at = [from[0] + d[0] / length * way, from[1] + d[1] / length * way];
        let pull = [(slot_at[0] - self.x) * 0.15, (slot_at[1] - self.y) * 0.15];
        let moving = way < length;
        let lead = if moving { 1.5 } else { 0.0 };
        let mut v = [d[0] / length * lead + pull[0], d[1] / length * lead + pull[1]];
        let pace = v[0].hypot(v[1]);
        if pace > 2.2 {
            v = [v[0] * 2.2 / pace, v[1] * 2.2 / pace];
        }
        // The line's pull changes no faster than a boat can.
        let mut water = [v[0] - current[0], v[1] - current[1]];
        for (w, old) in water.iter_mut().zip(self.velocity) {
            *w = old + (*w - old).clamp(-0.6, 0.6);
        }
        self.velocity = water;
        self.drift = [0.0, 0.0];
        self.speed = water[0].hypot(water[1]);
        self.course = water[0].atan2(water[1]);
        if moving { Doing::Towed } else { Doing::Waiting }
    }
}
