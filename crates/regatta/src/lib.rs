//! Course, line, laylines and low point scoring.
