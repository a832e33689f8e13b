//! What the boat is, what acts on it, and how to set it up.
