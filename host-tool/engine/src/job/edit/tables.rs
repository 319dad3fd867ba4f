//! Finding a table of the file by its path.

use super::error::EditError;
use toml_edit::{DocumentMut, Item, Table, TableLike};

/// The table at a path, made where it is missing. In a list of tables the next part of the path is the name of one.
pub(super) fn table_at<'t>(
    file: &'t mut DocumentMut,
    path: &[String],
) -> Result<&'t mut dyn TableLike, EditError> {
    let unknown = || EditError::Unknown(format!("[{}]", path.join(".")));
    let mut table: &mut dyn TableLike = file.as_table_mut();
    let mut parts = path.iter();
    while let Some(part) = parts.next() {
        let item = table
            .entry(part)
            .or_insert_with(|| Item::Table(Table::new()));
        table = match item {
            Item::ArrayOfTables(tables) => {
                let name = parts.next().ok_or_else(unknown)?;
                let mut found = tables.iter_mut();
                found
                    .find(|one| named(one) == Some(name.as_str()))
                    .ok_or_else(unknown)?
            }
            item => item.as_table_like_mut().ok_or_else(unknown)?,
        };
    }
    Ok(table)
}

pub(super) fn named(table: &Table) -> Option<&str> {
    table.get("name")?.as_str()
}
