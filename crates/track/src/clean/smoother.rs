//! A Kalman filter forward and the Rauch-Tung-Striebel smoother back over the seconds of one boat.
//!
//! State of each axis: position, velocity, and the slow error of the receiver; both axes share one covariance. Without the slow error
//! a track of positions alone would look far too sure of its mean velocity. White acceleration drives the velocity, weakly in steady
//! sailing and strongly in turns, so that corners are not shaved. Measurement noise is learned from the filter's own residuals
//! (Desroziers, Berre, Chapnik, Poli, Q. J. R. Meteorol. Soc. 131, 2005: R is the mean product of the residual after and the innovation
//! before), the rest is chosen by likelihood.

use super::recorder::Known;
use super::second::Seconds;
use nalgebra::{Dim, Matrix, Matrix3, Matrix3x2, RawStorageMut, RowVector3, U3, Vector3};

/// Memory of the receiver's slow error, s. Assumed, after what small receivers are commonly found to do (60 to 200).
pub(super) const SLOW_MEMORY: f64 = 120.0;
/// Standard deviations of the slow error to choose from, m. Assumed, after the same.
const SLOW: [f64; 3] = [1.25, USUAL_SLOW, 2.5];
/// The one taken when the track cannot tell, m. Study of simulated tracks.
const USUAL_SLOW: f64 = 1.75;
/// Power of the acceleration in steady sailing to choose from, m2/s3. Study of simulated tracks: .006.
const STEADY: [f64; 3] = [0.003, 0.006, 0.012];
/// The same before anything is known, and where she is slow. Study of simulated tracks.
const UNKNOWN: f64 = 0.02;
/// The same in turns: half a metre a second within a second. Study of simulated tracks.
const TURNING: f64 = 0.25;
/// A turn is faster than this, radians a second (6 degrees).
const TURN: f64 = 0.105;
/// Around a turn the acceleration is free for this many seconds.
const AROUND: usize = 3;
/// Noise of a position that even the best receiver keeps, m2.
const LEAST_POSITION: f64 = 0.05 * 0.05;
/// Noise of a Doppler velocity that is taken at the least, m2/s2. It is alike from second to second, so that residuals cannot
/// tell it from the boat's own motion: it is learned upwards only. Study of simulated tracks: .075 m/s, doubled in variance.
const LEAST_VELOCITY: f64 = 2.0 * 0.075 * 0.075;
/// Where learning of a position's noise begins, m2.
const FIRST: f64 = 0.25 * 0.25;
/// Beyond this the variance grows with the squared distance (both axes together).
const DOUBTED: f64 = 9.0;
/// Beyond these a measurement is not used: 12 standard deviations, and 6.
const REFUSED: (f64, f64) = (144.0, 36.0);

/// After this many positions refused in a row it is the filter that is lost: it begins anew with these variances, m2 and m2/s2.
const LOST: usize = 4;
const ANEW: (f64, f64) = (400.0, 25.0);

/// The smoothed states. Shapes: one entry per second.
#[derive(Debug, Clone, Default)]
pub(super) struct State {
    pub(super) x: Vec<f64>,
    pub(super) y: Vec<f64>,
    pub(super) vx: Vec<f64>,
    pub(super) vy: Vec<f64>,
    pub(super) position_variance: Vec<f64>,
    pub(super) velocity_variance: Vec<f64>,
}

/// Noise of the model and of the measurements.
#[derive(Debug, Clone)]
struct Noise {
    position: f64,
    velocity: f64,
    slow: f64,
    steady: f64,
}

/// A mean and its covariance.
#[derive(Debug, Clone, Copy)]
struct Belief {
    mean: Matrix3x2<f64>,
    covariance: Matrix3<f64>,
}

/// What a forward pass learns.
#[derive(Debug, Clone, Copy, Default)]
struct Learned {
    cost: f64,
    position: (f64, f64),
    velocity: (f64, f64),
}

/// What drives a second.
#[derive(Debug, Clone, Copy)]
struct Drive {
    /// Power of the acceleration where it is not the steady one, m2/s3.
    power: Option<f64>,
    /// What the lag of a recorder that smooths adds to the noise of its Doppler velocity, m2/s2.
    lag: f64,
}

/// Smooths, and notes in `known` what it learned of the recorder.
pub(super) fn smooth(seconds: &Seconds, known: &mut Known) -> State {
    let count = seconds.grid.len();
    let mut noise = Noise { position: FIRST.max(known.lattice), velocity: LEAST_VELOCITY, slow: USUAL_SLOW, steady: 0.006 };
    let mut drive = vec![Drive { power: Some(UNKNOWN), lag: 0.0 }; count];
    for _ in 0..2 {
        let learned = forward(seconds, &drive, &noise, Asked::Noise);
        learn(&mut noise, learned, known);
    }
    let first = backward(seconds, &drive, &noise);
    known.memory = if known.doppler {
        memory(seconds, &first)
    } else if noise.position / known.interval.min(1.0) < SMOOTHED_POSITION * SMOOTHED_POSITION {
        USUAL_MEMORY
    } else {
        0.0
    };
    drive_by(&first, if known.doppler { known.memory } else { 0.0 }, &mut drive);
    let (steady, cost) = best(STEADY, None, |power| Noise { steady: power, ..noise.clone() }, seconds, &drive);
    noise.steady = steady;
    // A recorder that smooths hides how far it errs.
    if known.memory == 0.0 {
        let known = Some((noise.slow, cost));
        noise.slow = best(SLOW, known, |slow| Noise { slow, ..noise.clone() }, seconds, &drive).0;
    }
    for _ in 0..2 {
        let learned = forward(seconds, &drive, &noise, Asked::Noise);
        learn(&mut noise, learned, known);
    }
    (known.position, known.velocity, known.slow) = (noise.position, noise.velocity, noise.slow);
    let mut state = backward(seconds, &drive, &noise);
    if known.memory > 0.0 {
        lag(&mut state, known.memory);
    }
    state
}

/// The candidate under which the measurements are most likely, and what it costs; that of one may be known.
fn best(candidates: [f64; 3], known: Option<(f64, f64)>, noise: impl Fn(f64) -> Noise, seconds: &Seconds, drive: &[Drive]) -> (f64, f64) {
    let cost = |c: f64| known.filter(|k| k.0 == c).map_or_else(|| forward(seconds, drive, &noise(c), Asked::Cost).cost, |k| k.1);
    let costs = candidates.map(|c| (c, cost(c)));
    costs.into_iter().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or(costs[1])
}

fn learn(noise: &mut Noise, learned: Learned, known: &Known) {
    let mean = |(sum, count): (f64, f64), now: f64, least: f64| if count < 60.0 { now } else { (sum / count).min(400.0).max(least) };
    noise.position = mean(learned.position, noise.position, LEAST_POSITION.max(known.lattice));
    noise.velocity = mean(learned.velocity, noise.velocity, LEAST_VELOCITY);
}

/// One second on: position by velocity, slow error towards nothing. Written out, as seven of the nine entries of its matrix
///
/// ```text
/// 1 1 0
/// 0 1 0
/// 0 0 keep
/// ```
///
/// are nought or one.
#[derive(Debug, Clone, Copy)]
struct Second {
    keep: f64,
}

impl Second {
    fn new() -> Self {
        Self { keep: (-1.0 / SLOW_MEMORY).exp() }
    }
    /// The matrix times another.
    fn times<C: Dim, S: RawStorageMut<f64, U3, C>>(&self, m: &mut Matrix<f64, U3, C, S>) {
        for mut column in m.column_iter_mut() {
            column[0] += column[1];
            column[2] *= self.keep;
        }
    }
    /// Another times its transpose.
    fn after(&self, m: &mut Matrix3<f64>) {
        for i in 0..3 {
            m[(i, 0)] += m[(i, 1)];
            m[(i, 2)] *= self.keep;
        }
    }
    /// A covariance a second later, driven.
    fn covariance(&self, mut covariance: Matrix3<f64>, power: f64, slow: f64) -> Matrix3<f64> {
        self.times(&mut covariance);
        self.after(&mut covariance);
        let fresh = 1.0 - self.keep * self.keep;
        covariance[(0, 0)] += power / 3.0;
        covariance[(0, 1)] += power / 2.0;
        covariance[(1, 0)] += power / 2.0;
        covariance[(1, 1)] += power;
        covariance[(2, 2)] += slow * slow * fresh;
        covariance
    }
    /// A mean a second later.
    fn mean(&self, mut mean: Matrix3x2<f64>) -> Matrix3x2<f64> {
        self.times(&mut mean);
        mean
    }
}

/// What a pass is for.
enum Asked<'a> {
    /// The noise learned from its residuals.
    Noise,
    /// How unlikely the measurements are.
    Cost,
    /// What is believed at every second.
    Beliefs(&'a mut Vec<Belief>),
}

/// The filter over all seconds.
fn forward(seconds: &Seconds, drive: &[Drive], noise: &Noise, mut asked: Asked<'_>) -> Learned {
    let one = Second::new();
    let mut learned = Learned::default();
    let Some(first) = seconds.grid.iter().flatten().next() else { return learned };
    let way = first.way.unwrap_or_default();
    let mut belief = Belief {
        mean: Matrix3x2::new(first.at[0], first.at[1], way[0], way[1], 0.0, 0.0),
        covariance: Matrix3::new(noise.position + noise.slow.powi(2), 0.0, 0.0, 0.0, 4.0, 0.0, 0.0, 0.0, noise.slow.powi(2)),
    };
    let weigh = matches!(asked, Asked::Cost);
    let mut refusals = 0;
    for (i, (second, drive)) in seconds.grid.iter().zip(drive).enumerate() {
        if i > 0 {
            belief.mean = one.mean(belief.mean);
            belief.covariance = one.covariance(belief.covariance, drive.power.unwrap_or(noise.steady), noise.slow);
        }
        if let Some(sample) = second {
            if refusals >= LOST {
                belief.covariance = Matrix3::from_diagonal(&Vector3::new(ANEW.0, ANEW.1, noise.slow.powi(2)));
                refusals = 0;
            }
            let (m, c) = (&belief.mean, &belief.covariance);
            // A position is that of the boat and the slow error.
            let place = Seen {
                off: [0, 1].map(|axis| sample.at[axis] - (m[(0, axis)] + m[(2, axis)])),
                down: c.column(0) + c.column(2),
                along: c.row(0) + c.row(2),
                spread: (c[(0, 0)] + c[(2, 0)]) + (c[(0, 2)] + c[(2, 2)]),
            };
            let taken = update(&mut belief, &place, noise.position, REFUSED.0, &mut learned.position, weigh.then_some(&mut learned.cost));
            refusals = if taken { 0 } else { refusals + 1 };
            if let Some(way) = sample.way {
                let (m, c) = (&belief.mean, &belief.covariance);
                let speed = Seen {
                    off: [0, 1].map(|axis| way[axis] - m[(1, axis)]),
                    down: c.column(1).into_owned(),
                    along: c.row(1).into_owned(),
                    spread: c[(1, 1)],
                };
                let own = noise.velocity + drive.lag;
                update(&mut belief, &speed, own, REFUSED.1, &mut learned.velocity, weigh.then_some(&mut learned.cost));
            }
        }
        if let Asked::Beliefs(kept) = &mut asked {
            kept.push(belief);
        }
    }
    learned
}

/// A measurement against what is believed: of a row of the state, of both axes.
struct Seen {
    /// Innovation of each axis.
    off: [f64; 2],
    /// The covariance times the row, and the row times the covariance.
    down: Vector3<f64>,
    along: RowVector3<f64>,
    /// Variance of what is believed of the row.
    spread: f64,
}

/// Takes one measurement; whether it was used.
fn update(belief: &mut Belief, seen: &Seen, own: f64, refused: f64, products: &mut (f64, f64), cost: Option<&mut f64>) -> bool {
    let spread = seen.spread;
    let plain = spread + own;
    let square = seen.off[0].powi(2) + seen.off[1].powi(2);
    let distance = square / plain;
    if let Some(cost) = cost {
        *cost += 2.0 * plain.ln() + distance.min(DOUBTED);
    }
    if distance > refused {
        return false;
    }
    let measured = if distance > DOUBTED { own * distance / DOUBTED } else { own };
    let gain = seen.down / (spread + measured);
    for (axis, off) in seen.off.iter().enumerate() {
        let column = belief.mean.column(axis) + gain * *off;
        belief.mean.set_column(axis, &column);
    }
    let covariance = belief.covariance - gain * seen.along;
    belief.covariance = 0.5 * (covariance + covariance.transpose());
    if distance <= DOUBTED {
        // The residual after is the innovation times the measurement's share of the whole. Two axes.
        products.0 += square * measured / (spread + measured);
        products.1 += 2.0;
    }
    true
}

/// The filter and the smoother back.
fn backward(seconds: &Seconds, drive: &[Drive], noise: &Noise) -> State {
    let count = seconds.grid.len();
    let one = Second::new();
    let mut beliefs = Vec::with_capacity(count);
    forward(seconds, drive, noise, Asked::Beliefs(&mut beliefs));
    for i in (0..count.saturating_sub(1)).rev() {
        let (now, next) = (beliefs[i], beliefs[i + 1]);
        let ahead = one.covariance(now.covariance, drive[i + 1].power.unwrap_or(noise.steady), noise.slow);
        let Some(inverse) = ahead.try_inverse() else { continue };
        let mut gain = now.covariance;
        one.after(&mut gain);
        let gain = gain * inverse;
        let covariance = now.covariance + gain * (next.covariance - ahead) * gain.transpose();
        beliefs[i].mean = now.mean + gain * (next.mean - one.mean(now.mean));
        beliefs[i].covariance = 0.5 * (covariance + covariance.transpose());
    }
    State {
        x: beliefs.iter().map(|b| b.mean[(0, 0)]).collect(),
        y: beliefs.iter().map(|b| b.mean[(0, 1)]).collect(),
        vx: beliefs.iter().map(|b| b.mean[(1, 0)]).collect(),
        vy: beliefs.iter().map(|b| b.mean[(1, 1)]).collect(),
        position_variance: beliefs.iter().map(|b| b.covariance[(0, 0)].max(0.0)).collect(),
        velocity_variance: beliefs.iter().map(|b| b.covariance[(1, 1)].max(0.0)).collect(),
    }
}

/// How each second is driven: free in turns, tight when steady, in between when slow. The Doppler velocity of a recorder that smooths
/// lags by its memory.
fn drive_by(state: &State, memory: f64, drive: &mut [Drive]) {
    let count = drive.len();
    let speeds: Vec<f64> = (0..count).map(|i| state.vx[i].hypot(state.vy[i])).collect();
    let mut sorted = speeds.clone();
    sorted.sort_unstable_by(f64::total_cmp);
    let slow = (0.35 * sorted.get(count * 6 / 10).copied().unwrap_or(0.0)).max(0.4);
    drive.fill(Drive { power: None, lag: 0.0 });
    for i in 0..count {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(count - 1));
        let cross = state.vx[a] * state.vy[b] - state.vy[a] * state.vx[b];
        let dot = state.vx[a] * state.vx[b] + state.vy[a] * state.vy[b];
        let rate = cross.atan2(dot).abs() / (b - a).max(1) as f64;
        let change = (state.vx[b] - state.vx[a]).hypot(state.vy[b] - state.vy[a]) / (b - a).max(1) as f64;
        drive[i].lag = (memory * change).powi(2);
        // A rate that the noise of the velocity could feign is no turn.
        let feigned = 0.7 * state.velocity_variance[i].sqrt() / speeds[i].max(0.1);
        if speeds[i] < slow {
            drive[i].power = Some(drive[i].power.unwrap_or(0.0).max(UNKNOWN));
        } else if rate > TURN.max(feigned) {
            for near in &mut drive[i.saturating_sub(AROUND)..(i + AROUND + 1).min(count)] {
                near.power = Some(TURNING);
            }
        }
    }
}

/// A recorder that smooths lags by its memory: that much of every change is added to what is not known.
fn lag(state: &mut State, memory: f64) {
    let count = state.x.len();
    for i in 0..count {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(count - 1));
        let change = (state.vx[b] - state.vx[a]).hypot(state.vy[b] - state.vy[a]) / (b - a).max(1) as f64;
        state.velocity_variance[i] += 0.5 * (memory * change).powi(2);
        state.position_variance[i] += 0.5 * (0.5 * memory * memory * change).powi(2);
    }
}

/// Memory of the recorder's own smoothing, s: where changes of Doppler velocity from second to second in steady sailing are both small and
/// alike. Noise that nobody smoothed is unlike from second to second.
fn memory(seconds: &Seconds, state: &State) -> f64 {
    let velocity = |i: usize| seconds.grid.get(i)?.as_ref()?.way;
    let (mut alike, mut all, mut count) = (0.0, 0.0, 0.0);
    for i in 0..seconds.grid.len().saturating_sub(3) {
        let (Some(a), Some(b), Some(c)) = (velocity(i), velocity(i + 1), velocity(i + 2)) else { continue };
        let steady = (state.vx[i + 2] - state.vx[i]).hypot(state.vy[i + 2] - state.vy[i]) < 0.3;
        if !steady || state.vx[i].hypot(state.vy[i]) < 0.5 {
            continue;
        }
        for axis in 0..2 {
            let (d, e) = (b[axis] - a[axis], c[axis] - b[axis]);
            alike += d * e;
            all += 0.5 * (d * d + e * e);
            count += 1.0;
        }
    }
    if count < 200.0 || all / count > SMOOTHED_CHANGE * SMOOTHED_CHANGE {
        return 0.0;
    }
    let likeness = alike / all.max(1e-12);
    if likeness > SMOOTHED_LIKENESS { (-1.0 / likeness.min(0.85).ln()).min(4.0) } else { 0.0 }
}

/// Changes of velocity smaller than this within a second are no receiver's raw noise, m/s. Assumed.
const SMOOTHED_CHANGE: f64 = 0.06;
/// And correlated by more than this. Assumed.
const SMOOTHED_LIKENESS: f64 = 0.25;
/// Single positions with less white noise than this, m, have been smoothed, or come from a receiver better than children carry. Assumed.
const SMOOTHED_POSITION: f64 = 0.12;
/// The memory taken where positions alone show that there is one, s. Assumed.
const USUAL_MEMORY: f64 = 2.5;
