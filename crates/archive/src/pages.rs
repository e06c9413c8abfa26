//! Pages that promise no more than they hold, so that a damaged file cannot ask for much memory.
//!
//! Must not know: what the values are.

use parquet::column::page::{Page, PageMetadata, PageReader};
use parquet::errors::{ParquetError, Result};

/// The pages of a column, each looked at before it is unpacked into values.
pub(crate) struct Checked(pub(crate) Box<dyn PageReader>);

impl PageReader for Checked {
    fn get_next_page(&mut self) -> Result<Option<Page>> {
        self.0.get_next_page()?.map(checked).transpose()
    }

    fn peek_next_page(&mut self) -> Result<Option<PageMetadata>> {
        self.0.peek_next_page()
    }

    fn skip_next_page(&mut self) -> Result<()> {
        self.0.skip_next_page()
    }
}

impl Iterator for Checked {
    type Item = Result<Page>;

    fn next(&mut self) -> Option<Self::Item> {
        self.get_next_page().transpose()
    }
}

fn checked(page: Page) -> Result<Page> {
    if let Page::DictionaryPage {
        buf, num_values, ..
    } = &page
    {
        // A value of a dictionary takes a bit at least.
        let room = buf.len().saturating_mul(8);
        if usize::try_from(*num_values).map_or(true, |values| values > room) {
            return Err(ParquetError::General(
                "a dictionary promises more values than its page holds".to_owned(),
            ));
        }
    }
    Ok(page)
}
