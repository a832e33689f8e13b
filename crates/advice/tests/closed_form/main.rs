//! Advice against what can be worked out by hand: triangles, differences, square laws.

#![expect(clippy::unwrap_used, reason = "a test stops at what does not go on")]

mod caution;
mod cost;
mod dock;
mod rake;
mod weight;
