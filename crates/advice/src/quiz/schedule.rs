//! When a question comes back: what was missed sooner, what was known later.
//!
//! The spacing is the published one of P. A. Wozniak, Optimization of learning, master's thesis, University of Technology in Poznan,
//! 1990, section 3.2 (the numbers from memory): first after one day, then after six, then each time as many times longer as the item is
//! easy; an easiness begins at 2.5, moves with the quality of each answer and never falls under 1.3; a miss begins the item anew.
//! Qualities run from 0 to 5. A quiz hears no quality: a right answer counts as 4 (right, with some thought), which leaves easiness as
//! it was, a wrong one as 1, which takes 0.54 off.
//!
//! Two things are ours. An item known before its day is neither harder nor easier by it, so that a quiz taken twice on one evening
//! earns no week. And a clock that ran back counts as standing still.

/// Easiness of something never met, and the least.
const EASINESS: f64 = 2.5;
const LEAST: f64 = 1.3;
/// Days after the first and after the second right answer.
const FIRST: f64 = 1.0;
const SECOND: f64 = 6.0;
/// Quality of a right and of a wrong answer.
const RIGHT: f64 = 4.0;
const WRONG: f64 = 1.0;
/// An item is due on its day, whatever the hour: this much sooner, days.
const SAME_DAY: f64 = 0.5;
/// No item stays away for longer than a season, days. Assumed.
const SEASON: f64 = 180.0;

/// What is known of one question's past with one sailor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Memory {
    /// How easy it is.
    pub easiness: f64,
    /// Right answers in a row, each on its day.
    pub known: u32,
    /// Wrong answers ever.
    pub missed: u32,
    /// When it was last met, days.
    pub last: f64,
    /// When it comes back, days.
    pub due: f64,
}

impl Memory {
    /// From the answers given to it in the order they were given: days since any fixed moment, and whether right. `None` without any.
    #[must_use]
    pub fn of(answers: &[(f64, bool)]) -> Option<Self> {
        let (first, _) = *answers.first()?;
        let mut memory = Self { easiness: EASINESS, known: 0, missed: 0, last: first, due: first };
        let mut interval = 0.0;
        for &(at, right) in answers {
            let at = at.max(memory.last);
            let early = at < memory.due - SAME_DAY;
            if right && early && memory.known > 0 {
                memory.last = at;
                continue;
            }
            let q = if right { RIGHT } else { WRONG };
            memory.easiness = (memory.easiness + 0.1 - (5.0 - q) * (0.08 + (5.0 - q) * 0.02)).max(LEAST);
            if right {
                memory.known += 1;
                interval = match memory.known {
                    1 => FIRST,
                    2 => SECOND,
                    _ => (interval * memory.easiness).min(SEASON),
                };
            } else {
                memory.known = 0;
                memory.missed += 1;
                interval = 0.0;
            }
            memory.last = at;
            memory.due = at + interval;
        }
        Some(memory)
    }

    /// Whether it is to be asked now.
    #[must_use]
    pub fn is_due(&self, now: f64) -> bool {
        now >= self.due - SAME_DAY
    }

    /// Whether it is a weak spot: missed, and not twice known since.
    #[must_use]
    pub fn is_weak(&self) -> bool {
        self.missed > 0 && self.known < 2
    }
}

/// Questions between two meetings of one. Ours: what comes back at once is answered from memory of the screen.
const APART: usize = 3;

/// The order in which to ask: what is due, the longest overdue first; then what was never met, in the order given; then the rest, the
/// soonest due first. What was among the last three met that day does not come next while there is another.
#[must_use]
pub fn order<'a>(keys: &[&'a str], memory: &impl Fn(&str) -> Option<Memory>, now: f64) -> Vec<&'a str> {
    let mut known: Vec<(&str, Memory)> = keys.iter().filter_map(|k| Some((*k, memory(k)?))).collect();
    known.sort_by(|a, b| a.1.due.total_cmp(&b.1.due));
    let (due, later): (Vec<_>, Vec<_>) = known.iter().copied().partition(|k| k.1.is_due(now));
    let new = keys.iter().copied().filter(|k| memory(k).is_none());
    let mut order: Vec<&str> = due.iter().map(|k| k.0).chain(new).chain(later.iter().map(|k| k.0)).collect();
    known.sort_by(|a, b| b.1.last.total_cmp(&a.1.last));
    let recent: Vec<&str> = known.iter().take(APART).filter(|k| now - k.1.last < SAME_DAY).map(|k| k.0).collect();
    if let Some(first) = order.iter().position(|key| !recent.contains(key))
        && let Some(before) = order.get_mut(..=first)
    {
        before.rotate_right(1);
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published intervals: 1, 6, then times 2.5; a quality of 4 leaves easiness alone, one of 1 takes 0.54 off.
    #[test]
    fn spacing_is_the_published_one() {
        let mut answers = vec![(0.0, true)];
        let mut dues = Vec::new();
        for _ in 0..4 {
            let memory = Memory::of(&answers).unwrap();
            dues.push(memory.due - memory.last);
            answers.push((memory.due, true));
        }
        assert_eq!(dues, [1.0, 6.0, 15.0, 37.5]);
        let missed = Memory::of(&[(0.0, true), (1.0, false)]).unwrap();
        assert!((missed.easiness - 1.96).abs() < 1e-12 && missed.known == 0 && missed.due == 1.0 && missed.is_weak());
        let again = Memory::of(&[(0.0, false), (0.0, true), (1.0, true)]).unwrap();
        assert!(!again.is_weak() && (again.due - 7.0).abs() < 1e-12);
        let never = Memory::of(&[(0.0, false); 9]).unwrap();
        assert_eq!(never.easiness, LEAST);
    }

    #[test]
    fn a_quiz_taken_twice_in_an_evening_earns_no_week_and_a_clock_run_back_loses_none() {
        let twice = Memory::of(&[(0.0, true), (0.01, true), (0.02, true)]).unwrap();
        assert_eq!((twice.known, twice.due), (1, 1.0));
        let back = Memory::of(&[(5.0, true), (4.0, true), (6.0, true)]).unwrap();
        assert_eq!((back.known, back.due), (2, 12.0));
    }

    #[test]
    fn what_was_missed_comes_first_but_not_at_once() {
        let memory = |key: &str| match key {
            "missed" => Memory::of(&[(9.9, false)]),
            "due" => Memory::of(&[(1.0, true)]),
            "later" => Memory::of(&[(9.0, true), (9.8, true)]),
            _ => None,
        };
        assert_eq!(order(&["new", "later", "missed", "due"], &memory, 10.0), ["due", "missed", "new", "later"]);
        assert_eq!(order(&["new", "missed"], &memory, 10.0), ["new", "missed"]);
        assert_eq!(order(&["missed"], &memory, 10.0), ["missed"]);
        // Of four missed in a row the first is the next, and the last three wait.
        let row = |key: &str| Memory::of(&[(9.9 + 0.01 * f64::from(key.bytes().next().unwrap_or(0) - b'a'), false)]);
        assert_eq!(order(&["d", "c", "b", "a"], &row, 10.0).first(), Some(&"a"));
        assert_eq!(order(&["d", "c", "b"], &row, 10.0).first(), Some(&"b"));
        assert!(order(&[], &memory, 10.0).is_empty());
    }
}
