//! Tables to read in a terminal: a head, rows, numbers to the right, nothing else.

use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};

/// A table being filled.
#[derive(Debug)]
pub(crate) struct Rows(Table);

impl Rows {
    /// A table with its head. A name that begins with `>` is a column of numbers.
    pub(crate) fn under(head: &[&str]) -> Self {
        let mut table = Table::new();
        *table.style_mut() = presets::NOTHING;
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_header(head.iter().map(|name| Cell::new(name.trim_start_matches('>'))));
        for (at, name) in head.iter().enumerate() {
            if let Some(column) = table.column_mut(at) {
                column.set_padding((0, 2));
                if name.starts_with('>') {
                    column.set_cell_alignment(CellAlignment::Right);
                }
            }
        }
        Self(table)
    }

    /// One more row.
    pub(crate) fn push<T: ToString>(&mut self, row: impl IntoIterator<Item = T>) {
        self.0.add_row(row.into_iter().map(|cell| Cell::new(cell.to_string())));
    }

    /// The table as text, without blanks at the ends of lines.
    pub(crate) fn text(&self) -> String {
        self.0.lines().map(|line| format!("{}\n", line.trim_end())).collect()
    }
}
