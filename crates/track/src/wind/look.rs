//! Looks: a boat's mean course and speed through the water over at most ten seconds of steady sailing. All that is said of the
//! wind rests on them, so that every step after the smoother costs a tenth of the seconds.

use crate::fleet::Fleet;

/// Seconds of a block.
pub(crate) const BLOCK: usize = 10;
/// Fewer steady seconds make no look.
const FEWEST: usize = 4;

/// Way is gathered this long after a stretch begins, s: a small boat regains hers in some ten seconds, and six are left out before.
const GATHERED: usize = 6;

/// One boat in one block.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Look {
    pub(crate) boat: usize,
    pub(crate) block: usize,
    /// Radians.
    pub(crate) course: f64,
    /// m/s.
    pub(crate) speed: f64,
    pub(crate) count: usize,
    /// The same number as long as no turn, stop or gap lies between.
    pub(crate) stretch: usize,
    /// East and north of the fleet's middle, km.
    pub(crate) place: [f64; 2],
    /// Change of speed in the look, as a share.
    pub(crate) change: f64,
    /// Way has been gathered since the last turn or stop.
    pub(crate) settled: bool,
}

/// Looks in the order of blocks, with the first look of each block and one past the last.
#[derive(Debug, Clone)]
pub(crate) struct Looks {
    pub(crate) all: Vec<Look>,
    pub(crate) first: Vec<usize>,
    pub(crate) stretches: usize,
}

impl Looks {
    pub(crate) fn of(fleet: &Fleet) -> Self {
        let middles = fleet.middles();
        let blocks = fleet.len.div_ceil(BLOCK);
        let mut all = Vec::new();
        let mut stretches = 0;
        for (boat, b) in fleet.boats.iter().enumerate() {
            let steady = b.steady();
            let mut i = b.span.0;
            while i < b.span.1 {
                if !steady[i] {
                    i += 1;
                    continue;
                }
                let begin = i;
                let end = (i..b.span.1).find(|j| !steady[*j]).unwrap_or(b.span.1);
                while i < end {
                    let to = ((i / BLOCK + 1) * BLOCK).min(end);
                    if let (true, Some((speed, course))) = (to - i >= FEWEST, b.mean(i, to)) {
                        let k = usize::midpoint(i, to);
                        let place = [(b.x[k] - middles[k][0]) / 1000.0, (b.y[k] - middles[k][1]) / 1000.0];
                        let change = (b.speed[to - 1] - b.speed[i]).abs() / speed.max(0.1);
                        all.push(Look {
                            boat,
                            block: i / BLOCK,
                            course,
                            speed,
                            count: to - i,
                            stretch: stretches,
                            place,
                            change,
                            settled: i >= begin + GATHERED,
                        });
                    }
                    i = to;
                }
                stretches += 1;
            }
        }
        all.sort_by_key(|l| (l.block, l.boat));
        let first = (0..=blocks).map(|k| all.partition_point(|l| l.block < k)).collect();
        Self { all, first, stretches }
    }

    pub(crate) fn blocks(&self) -> usize {
        self.first.len().saturating_sub(1)
    }

    pub(crate) fn at(&self, block: usize) -> core::ops::Range<usize> {
        self.first[block]..self.first[block + 1]
    }
}
