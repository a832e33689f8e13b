//! Cleaning against paths whose truth is a closed form, with the noise of a known receiver put on.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use measure::{LocalPlane, Position};
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use track::clean::{Measured, Smooth, clean, plane};
use track::{Fix, Track};

const START: f64 = 1_781_438_400.0;

/// A receiver: points a second, white noise of a position (m), of a Doppler velocity (m/s), wander of a position (m, memory 120 s).
#[derive(Clone, Copy)]
struct Receiver {
    hertz: f64,
    white: f64,
    doppler: Option<f64>,
    wander: f64,
}

const PERFECT: Receiver = Receiver { hertz: 1.0, white: 0.0, doppler: Some(0.0), wander: 0.0 };
const USUAL: Receiver = Receiver { hertz: 1.0, white: 0.25, doppler: Some(0.075), wander: 1.5 };

fn origin() -> LocalPlane {
    LocalPlane::at(Position::degrees(43.0, 9.5).unwrap())
}

/// Position and velocity at a time since the start.
type Path = fn(f64) -> ([f64; 2], [f64; 2]);

fn recorded(path: Path, seconds: usize, receiver: Receiver, seed: u64) -> Track {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    // Twelve uniform numbers make a normal one well enough for noise.
    let mut normal = || (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0;
    let dt = 1.0 / receiver.hertz;
    let keep = (-dt / 120.0_f64).exp();
    let mut slow = [normal() * receiver.wander, normal() * receiver.wander];
    // Doppler errors are alike over a second.
    let likeness = (-dt).exp();
    let mut quick = [normal(), normal()];
    let fixes = (0..(seconds as f64 * receiver.hertz) as usize).map(|n| {
        let t = n as f64 * dt;
        let (mut at, mut way) = path(t);
        for axis in 0..2 {
            slow[axis] = keep * slow[axis] + (1.0 - keep * keep).sqrt() * receiver.wander * normal();
            quick[axis] = likeness * quick[axis] + (1.0 - likeness * likeness).sqrt() * normal();
            at[axis] += slow[axis] + receiver.white * normal();
            way[axis] += receiver.doppler.unwrap_or(0.0) * quick[axis];
        }
        let course = way[0].atan2(way[1]) / measure::angle::DEGREE;
        let own = receiver.doppler.map(|_| (way[0].hypot(way[1]), course.rem_euclid(360.0)));
        Fix { time: START + t, position: origin().position(at[0], at[1]), speed: own.map(|o| o.0), course: own.map(|o| o.1) }
    });
    Track { name: "red".into(), format: "made".into(), fixes: fixes.collect() }
}

fn cleaned(track: &Track) -> (Smooth, String) {
    let cleaned = clean(track, &origin()).unwrap();
    (cleaned.value, cleaned.warnings.iter().map(|w| format!("{w}\n")).collect())
}

/// Straight for 60 s, a half circle of 3 m radius, straight back, at 2 m/s; again and again.
fn turning(t: f64) -> ([f64; 2], [f64; 2]) {
    const SPEED: f64 = 2.0;
    const RADIUS: f64 = 3.0;
    let half = core::f64::consts::PI * RADIUS / SPEED;
    let lap = t.rem_euclid(2.0 * (60.0 + half));
    let circle = |angle: f64, middle: f64, side: f64| {
        let (sine, cosine) = angle.sin_cos();
        ([middle + side * RADIUS * sine, side * -RADIUS * cosine], [side * SPEED * cosine, side * SPEED * sine])
    };
    if lap < 60.0 {
        ([lap * SPEED, -RADIUS], [SPEED, 0.0])
    } else if lap < 60.0 + half {
        circle((lap - 60.0) * SPEED / RADIUS, 120.0, 1.0)
    } else if lap < 120.0 + half {
        ([120.0 - (lap - 60.0 - half) * SPEED, RADIUS], [-SPEED, 0.0])
    } else {
        circle((lap - 120.0 - half) * SPEED / RADIUS, 0.0, -1.0)
    }
}

/// Largest error of velocity and of position against the truth, and the mean square of both, where nothing is a gap.
fn errors(smooth: &Smooth, path: Path) -> (f64, f64, f64, f64) {
    let (mut velocity, mut place, mut squares, mut count) = (0.0_f64, 0.0_f64, [0.0, 0.0], 0.0);
    for i in 0..smooth.len() {
        if smooth.gap[i] {
            continue;
        }
        let (at, way) = path((smooth.start + i as i64) as f64 - START);
        let v = (smooth.vx[i] - way[0]).hypot(smooth.vy[i] - way[1]);
        let p = (smooth.x[i] - at[0]).hypot(smooth.y[i] - at[1]);
        (velocity, place) = (velocity.max(v), place.max(p));
        squares = [squares[0] + v * v, squares[1] + p * p];
        count += 1.0;
    }
    (velocity, place, (squares[0] / count).sqrt(), (squares[1] / count).sqrt())
}

/// What one second may be off in the turn, m/s: a tenth of the speed with true Doppler speeds; a fifth from positions alone, as
/// between two positions a second apart only the chord is seen; with the usual noise three of its standard deviations.
const IN_TURN: [f64; 3] = [0.2, 0.4, 0.32];

#[test]
fn a_turn_of_three_metres_keeps_its_corner() {
    for hertz in [1.0, 2.0, 5.0, 10.0] {
        let receivers = [PERFECT, Receiver { doppler: None, ..PERFECT }, Receiver { wander: 0.0, ..USUAL }];
        for (receiver, most) in receivers.into_iter().zip(IN_TURN) {
            let (smooth, _) = cleaned(&recorded(turning, 1200, Receiver { hertz, ..receiver }, 1));
            let (velocity, place, ..) = errors(&smooth, turning);
            assert!(velocity < most, "{hertz} Hz, Doppler {:?}: {velocity} m/s", receiver.doppler);
            // A shaved corner of a half circle would be off by a good part of its radius. Noise wanders farther than this.
            assert!(receiver.white > 0.0 || place < 0.4, "{hertz} Hz, Doppler {:?}: {place} m", receiver.doppler);
        }
    }
}

/// Out and back for two minutes at a time with turns between, as in practice.
#[test]
fn what_it_says_it_does_not_know_holds() {
    for (doppler, hertz) in [(Some(0.075), 1.0), (None, 1.0), (Some(0.075), 10.0), (None, 10.0)] {
        let (mut way, mut place, mut count) = (0.0, 0.0, 0.0);
        for seed in 0..12 {
            let (smooth, _) = cleaned(&recorded(turning, 2400, Receiver { hertz, doppler, ..USUAL }, seed));
            for i in 0..smooth.len() {
                let (at, velocity) = turning((smooth.start + i as i64) as f64 - START);
                let (v, p) = (2.0 * smooth.velocity_variance[i].sqrt(), 2.0 * smooth.position_variance[i].sqrt());
                way += f64::from(u8::from((smooth.vx[i] - velocity[0]).abs() < v))
                    + f64::from(u8::from((smooth.vy[i] - velocity[1]).abs() < v));
                place += f64::from(u8::from((smooth.x[i] - at[0]).abs() < p)) + f64::from(u8::from((smooth.y[i] - at[1]).abs() < p));
                count += 2.0;
            }
        }
        let (way, place) = (way / count, place / count);
        // Twelve tracks of forty minutes hold some twenty independent wanders each: their share scatters by .03.
        assert!((0.95..=1.0).contains(&way), "velocity, Doppler {doppler:?}, {hertz} Hz: {way}");
        assert!((0.88..=0.995).contains(&place), "position, Doppler {doppler:?}, {hertz} Hz: {place}");
    }
}

/// Straight at 2 m/s.
fn straight(t: f64) -> ([f64; 2], [f64; 2]) {
    ([1.2 * t, 1.6 * t], [1.2, 1.6])
}

#[test]
fn faults_are_said_and_change_nothing() {
    let good = recorded(straight, 600, USUAL, 3);
    let mut bad = good.clone();
    // Three spikes, one of them three points long, a point twice, and two swapped.
    for i in [100, 200, 300, 301, 302] {
        let (x, y) = origin().xy(bad.fixes[i].position);
        bad.fixes[i].position = origin().position(x + 60.0, y - 40.0);
    }
    bad.fixes.insert(400, Fix { position: bad.fixes[405].position, ..bad.fixes[399] });
    bad.fixes.swap(500, 501);
    let ((good, quiet), (bad, said)) = (cleaned(&good), cleaned(&bad));
    assert!(quiet.is_empty(), "{quiet}");
    for word in ["5 points far off", "1 point with the time", "1 point stood before"] {
        assert!(said.contains(word), "{word}: {said}");
    }
    assert_eq!((good.start, good.len()), (bad.start, bad.len()));
    for i in 0..good.len() {
        // The seconds without a point are known a little less well.
        let off = (good.vx[i] - bad.vx[i]).hypot(good.vy[i] - bad.vy[i]);
        assert!(off < 2.0 * good.velocity_variance[i].sqrt(), "{i}: {off}");
    }
}

#[test]
fn a_dropout_is_a_gap_and_is_bridged() {
    let mut track = recorded(straight, 600, USUAL, 4);
    track.fixes.drain(300..340);
    let (smooth, _) = cleaned(&track);
    assert_eq!(smooth.gap.iter().filter(|g| **g).count(), 40);
    assert!(smooth.gap[300] && smooth.gap[339] && !smooth.gap[299] && !smooth.gap[340]);
    assert!(smooth.velocity_variance[320] > smooth.velocity_variance[100]);
    assert!((smooth.vx[320] - 1.2).abs() < 2.0 * smooth.velocity_variance[320].sqrt());
}

/// Still for five minutes, then straight.
fn waiting(t: f64) -> ([f64; 2], [f64; 2]) {
    if t < 300.0 { ([0.0; 2], [0.0; 2]) } else { straight(t - 300.0) }
}

#[test]
fn standing_still_is_seen() {
    for doppler in [Some(0.075), None] {
        let (smooth, _) = cleaned(&recorded(waiting, 600, Receiver { doppler, ..USUAL }, 5));
        let share =
            |range: core::ops::Range<usize>| smooth.standing[range.clone()].iter().filter(|s| **s).count() as f64 / range.len() as f64;
        assert!(share(0..290) > 0.9, "{}", share(0..290));
        assert_eq!(share(310..600), 0.0);
    }
    // A recorder that pauses while still.
    let mut track = recorded(waiting, 600, USUAL, 6);
    track.fixes.drain(20..298);
    let (smooth, _) = cleaned(&track);
    assert!(smooth.gap[100] && smooth.standing[100]);
}

/// Ten minutes by car with a stop at a crossing, ten minutes at the club, then sailing.
fn from_home(t: f64) -> ([f64; 2], [f64; 2]) {
    let along = |from: f64, speed: f64, since: f64| ([from + speed * since, 0.0], [speed, 0.0]);
    match t {
        t if t < 300.0 => along(-9000.0, 15.0, t),
        t if t < 360.0 => along(-4500.0, 0.0, 0.0),
        t if t < 660.0 => along(-4500.0, 15.0, t - 360.0),
        t if t < 1260.0 => along(0.0, 0.0, 0.0),
        t => along(0.0, 2.0, t - 1260.0),
    }
}

#[test]
fn a_ride_is_no_sailing() {
    for doppler in [Some(0.075), None] {
        let (smooth, said) = cleaned(&recorded(from_home, 2400, Receiver { doppler, ..USUAL }, 7));
        assert!(said.contains("11 min faster than any small boat sails"), "{said}");
        assert!(smooth.carried[5..655].iter().all(|c| *c) && smooth.carried[670..].iter().all(|c| !c));
    }
}

#[test]
fn speeds_that_tell_nothing_are_left_out() {
    let good = recorded(turning, 900, USUAL, 8);
    assert_eq!(cleaned(&good).0.recorder.measured, Measured::Doppler);
    let mut zero = good.clone();
    zero.fixes.iter_mut().for_each(|f| f.speed = Some(0.0));
    let mut knots = good.clone();
    knots.fixes.iter_mut().for_each(|f| f.speed = f.speed.map(|v| v / measure::quantity::KNOT));
    let mut magnetic = good.clone();
    magnetic.fixes.iter_mut().for_each(|f| f.course = f.course.map(|c| (c + 15.0) % 360.0));
    for track in [zero, knots, magnetic] {
        let (smooth, said) = cleaned(&track);
        assert_eq!(smooth.recorder.measured, Measured::Positions);
        assert!(said.contains("do not agree"), "{said}");
    }
    let mut derived = good;
    for i in (1..derived.fixes.len()).rev() {
        let (length, bearing) = derived.fixes[i - 1].position.to(derived.fixes[i].position);
        (derived.fixes[i].speed, derived.fixes[i].course) = (Some(length.si()), Some(bearing.in_degrees()));
    }
    assert!(cleaned(&derived).1.contains("worked out from its positions"));
}

#[test]
fn a_coarse_lattice_is_part_of_the_error() {
    let mut track = recorded(turning, 1200, Receiver { doppler: None, ..USUAL }, 9);
    for fix in &mut track.fixes {
        let snap = |degrees: f64| (degrees * 1e4).round() / 1e4;
        fix.position = Position::degrees(snap(fix.position.latitude()), snap(fix.position.longitude())).unwrap();
    }
    let (smooth, said) = cleaned(&track);
    assert!((smooth.recorder.step - 11.1).abs() < 0.1 && said.contains("steps of 11 m"), "{} {said}", smooth.recorder.step);
    let fine = cleaned(&recorded(turning, 1200, Receiver { doppler: None, ..USUAL }, 9)).0;
    assert!(smooth.velocity_variance[30] > 2.0 * fine.velocity_variance[30]);
    // The bow does not swing to and fro with the lattice: on the straight no second is faster by half.
    let worst = (10..50).map(|i| smooth.speed(i)).fold(0.0, f64::max);
    assert!(worst < 3.0, "{worst}");
}

#[test]
fn over_the_antimeridian() {
    let text = include_str!("fixtures/c.gpx");
    let read = track::read::read("c.gpx", text.as_bytes(), None, &track::read::Limits::default()).unwrap();
    let plane = plane(&[&read.value[0]]).unwrap();
    let smooth = clean(&read.value[0], &plane).unwrap().value;
    assert!(plane.origin().longitude().abs() > 179.9);
    for (i, line) in include_str!("fixtures/c.truth.csv").lines().skip(1).enumerate() {
        let f: Vec<f64> = line.split(',').skip(4).map(|t| t.parse().unwrap()).collect();
        let (sine, cosine) = (f[0] * measure::angle::DEGREE).sin_cos();
        let speed = f[1] * measure::quantity::KNOT;
        let off = (smooth.vx[i] - speed * sine).hypot(smooth.vy[i] - speed * cosine);
        // She loses half her speed within two seconds of each tack; between two positions only the chord is seen.
        assert!(off < 0.25 * 1.543, "{i}: {off}");
    }
    assert_eq!(smooth.len(), 240);
}

#[test]
fn too_little_is_said() {
    let whole = recorded(straight, 600, USUAL, 10);
    for fixes in [Vec::new(), whole.fixes[..1].to_vec(), whole.fixes[..9].to_vec(), vec![whole.fixes[0]; 500]] {
        let track = Track { fixes, ..whole.clone() };
        assert!(matches!(clean(&track, &origin()), Err(track::TrackError::TooLittle { .. })));
    }
    // All at one point is a boat at rest, not an error.
    let still = Track { fixes: whole.fixes.iter().map(|f| Fix { position: whole.fixes[0].position, ..*f }).collect(), ..whole };
    assert!(cleaned(&still).0.standing.iter().all(|s| *s));
}

/// Found by a fuzzer: positions to hundredths of a degree, a kilometre apart, once asked for a noise between a least and a smaller most.
#[test]
fn a_lattice_of_a_kilometre_is_cleaned_or_refused() {
    let mut text = String::from("time,lat,lon\n");
    for second in 0..300 {
        let degrees = |k: usize| f64::from(u32::try_from(k % 3).unwrap()) * 0.01;
        text += &format!(
            "2026-04-02T10:{:02}:{:02}Z,{:.2},{:.2}\n",
            second / 60,
            second % 60,
            50.0 + degrees(second / 40),
            4.0 + degrees(second / 70)
        );
    }
    let read = track::read::read("coarse.csv", text.as_bytes(), None, &track::read::Limits::default()).unwrap().value;
    assert_eq!(read[0].fixes.len(), 300);
    let plane = track::clean::plane(&[&read[0]]).unwrap();
    if let Ok(cleaned) = track::clean::clean(&read[0], &plane) {
        assert!(cleaned.value.x.iter().all(|x| x.is_finite()));
    }
}
