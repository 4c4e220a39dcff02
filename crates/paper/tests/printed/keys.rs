//! The sheet of a key, printed.

use lastmicron_paper::{KeySheet, Page, key_sheet_pdf};

use crate::plans::contains;

#[test]
fn a_key_is_printed_on_one_page_of_an_archive_document() {
    // An invented text of a key's length, which is none.
    let secret = format!("AGE-SECRET-KEY-1{}", "QPZRY9X8GF".repeat(6).split_at(58).0);
    let made = "2024-05-01T09:30:00Z".parse().unwrap();
    let sheet = KeySheet { secret: &secret, recipient: "age1qpzry9x8gf2tvdw0s3jn54khce6mua7lqpzry9x8gf2tvdw0s3jn54khce6", made: &made };
    for page in [Page::A4, Page::Letter] {
        let pdf = key_sheet_pdf(&sheet, page).unwrap();
        assert!(contains(&pdf, "<pdfaid:part>2</pdfaid:part>") && contains(&pdf, "<pdfuaid:part>1</pdfuaid:part>"));
        assert!(contains(&pdf, "/Count 1"), "more than one page");
        assert_eq!(key_sheet_pdf(&sheet, page).unwrap(), pdf);
    }
}
