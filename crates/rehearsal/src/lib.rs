//! Simulated wind, helms and recorders with known truth, for tests, proofs and the demo.
