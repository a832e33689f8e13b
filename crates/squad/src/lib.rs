//! The squad: sailors, boats and the facts a coach writes down.
