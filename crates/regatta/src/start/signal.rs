//! The signals before a start, as times: rule 26, and the three minutes of a practice start.

/// Which sequence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sequence {
    /// Racing Rules of Sailing, rule 26: 5, 4, 1 and 0 minutes; times are those of the flags, and a sound that fails counts for nothing. Paraphrased.
    Rule26,
    /// Three minutes by whistle. Common practice, no source.
    Practice,
}

impl Sequence {
    /// As it is typed and shown.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rule26 => "rule-26",
            Self::Practice => "3-2-1",
        }
    }
}

/// One signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    /// Seconds before the start.
    pub before: u32,
    /// What it is called.
    pub name: &'static str,
    /// What is seen.
    pub flag: &'static str,
    /// What is heard.
    pub sound: &'static str,
}

/// The signals in their order.
#[must_use]
pub const fn signals(sequence: Sequence) -> &'static [Signal] {
    match sequence {
        Sequence::Rule26 => &RULE_26,
        Sequence::Practice => &PRACTICE,
    }
}

const fn signal(before: u32, name: &'static str, flag: &'static str, sound: &'static str) -> Signal {
    Signal { before, name, flag, sound }
}

const RULE_26: [Signal; 4] = [
    signal(300, "warning", "class flag up", "one sound"),
    signal(240, "preparatory", "P, I, Z, Z with I, U or black flag up", "one sound"),
    signal(60, "one minute", "preparatory flag down", "one long sound"),
    signal(0, "start", "class flag down", "one sound"),
];

const PRACTICE: [Signal; 8] = [
    signal(180, "three minutes", "", "three long blasts"),
    signal(120, "two minutes", "", "two long blasts"),
    signal(60, "one minute", "", "one long blast"),
    signal(30, "thirty seconds", "", "three short blasts"),
    signal(20, "twenty seconds", "", "two short blasts"),
    signal(10, "ten seconds", "", "one short blast"),
    signal(5, "five seconds", "", "one short blast each second"),
    signal(0, "start", "", "one long blast"),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// R1: starting signals at 5, 4, 1 and 0 minutes (rule 26).
    #[test]
    fn rule_26_has_its_times() {
        assert_eq!(signals(Sequence::Rule26).iter().map(|s| s.before).collect::<Vec<_>>(), [300, 240, 60, 0]);
        for sequence in [Sequence::Rule26, Sequence::Practice] {
            assert!(signals(sequence).windows(2).all(|pair| pair[0].before > pair[1].before), "{}", sequence.word());
        }
    }
}
