//! How long a debrief takes: a usual outing from bytes to answer, and forty boats of three hours at ten hertz.

use divan::Bencher;
use divan::counter::BytesCount;
use measure::{LocalPlane, Polar};
use rayon::prelude::*;
use rehearsal::{Kind, Outing, outing, recorder};
use std::sync::LazyLock;
use track::Smooth;
use track::clean::{clean, plane};
use track::debrief::{Asked, Debrief, debrief};
use track::read::{Limits, read};

static OUTING: LazyLock<Outing> = LazyLock::new(|| outing(Kind::Oscillating, 1));

/// A boat's file, in each of three formats by turns, sailed `times` over.
fn file(boat: usize, hertz: f64, times: usize) -> Vec<u8> {
    let once = recorder_of(boat, hertz);
    let length = OUTING.wind.len() as f64;
    let fixes: Vec<rehearsal::Fix> =
        (0..times).flat_map(|n| once.iter().map(move |f| (f.0 + n as f64 * length, f.1, f.2, f.3, f.4))).collect();
    match boat % 3 {
        0 => recorder::gpx("boat", &fixes),
        1 => recorder::nmea(&fixes),
        _ => recorder::csv(&fixes),
    }
}

fn recorder_of(boat: usize, hertz: f64) -> Vec<rehearsal::Fix> {
    recorder::recorded(&OUTING, boat, hertz, 1).fixes
}

/// One raw track in memory at a time on each core, as the program does it.
fn whole(files: &[&[u8]], polar: &Polar) -> Debrief {
    let cleaned: Vec<(Smooth, LocalPlane)> = files
        .par_iter()
        .filter_map(|bytes| {
            let track = read("boat", *bytes, None, &Limits::default()).ok()?.value.pop()?;
            let own = plane(&[&track])?;
            Some((clean(&track, &own).ok()?.value, own))
        })
        .collect();
    let common = cleaned[0].1;
    // Copies of a boat are laid apart, so that they are boats of their own.
    let tracks = cleaned.into_iter().enumerate().map(|(n, (smooth, own))| {
        let mut smooth = smooth.moved(&own, &common);
        let aside = 160.0 * (n / 8) as f64;
        smooth.x.iter_mut().for_each(|x| *x += aside);
        smooth.start += 60 * (n / 8) as i64;
        smooth
    });
    debrief(tracks.collect(), &common, &Asked { polar: Some(polar), ..Asked::default() })
}

fn polar() -> Polar {
    match Polar::rows(&OUTING.polar.rows()) {
        Some(polar) => polar,
        None => unreachable!("the rehearsals' polar is whole"),
    }
}

/// Eight boats, ninety minutes, one hertz.
#[divan::bench(sample_count = 10)]
fn usual_outing(bencher: Bencher<'_, '_>) {
    let files: Vec<Vec<u8>> = (0..8).map(|b| file(b, 1.0, 1)).collect();
    let files: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    let polar = polar();
    bencher.counter(BytesCount::new(files.iter().map(|f| f.len()).sum::<usize>())).bench_local(|| whole(&files, &polar).boats.len());
}

/// Forty boats, three hours, ten hertz: each of eight files read five times over.
#[divan::bench(sample_count = 2, sample_size = 1)]
fn forty_boats_three_hours_ten_hertz(bencher: Bencher<'_, '_>) {
    let once: Vec<Vec<u8>> = (0..8).map(|b| file(b, 10.0, 2)).collect();
    let files: Vec<&[u8]> = (0..40).map(|n| once[n % 8].as_slice()).collect();
    let polar = polar();
    bencher.counter(BytesCount::new(files.iter().map(|f| f.len()).sum::<usize>())).bench_local(|| whole(&files, &polar).boats.len());
}

fn main() {
    divan::main();
}
