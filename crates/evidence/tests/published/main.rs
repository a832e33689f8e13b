//! Against tables analysed by others. Each table carries its source on its first line.

mod effect;
mod mixed;
