//! What the water saw: recorders' files to wind, legs, manoeuvres and roundings.
