//! The test for private text: digests, serial numbers and accession codes are no telephone numbers, and every telephone
//! number in a usual spelling is found, anywhere in a note.

use exitsite::privacy::find;
use proptest::prelude::*;

/// Pseudorandom numbers from a seed, the same in each run.
struct Seeded(u64);

impl Seeded {
    fn next(&mut self) -> u64 {
        // Splitmix64 (Steele et al., OOPSLA 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    fn digest(&mut self) -> String {
        (0..4).map(|_| format!("{:016x}", self.next())).collect()
    }
}

#[test]
fn no_digest_is_refused() {
    let mut seeded = Seeded(7);
    let refused = (0..20_000).map(|_| seeded.digest()).filter(|digest| find(digest).is_some()).count();
    assert_eq!(refused, 0, "of 20000 digests");
    let refused = (0..20_000).map(|_| seeded.digest().to_uppercase()).filter(|digest| find(digest).is_some()).count();
    assert_eq!(refused, 0, "of 20000 digests in capitals");
}

proptest! {
    #[test]
    fn a_token_with_letters_in_it_is_no_telephone_number(
        before in "[A-Z]{1,3}-?[0-9]{0,4}",
        digits in "[0-9]{5,14}",
        behind in "(-[0-9]{1,4})?[A-Z]?",
    ) {
        for text in [format!("{before}{digits}{behind}"), format!("serial {before}{digits}{behind}, ward 4")] {
            prop_assert_eq!(find(&text), None, "{}", text);
        }
    }

    #[test]
    fn every_telephone_number_is_found(
        area in 201_u32..990, exchange in 200_u32..1000, line in 0_u32..10_000,
        country in 1_u32..999, subscriber in 1_000_000_u32..999_999_999,
        before in "(|ring |call B12 at |mother: |tel\\.|on 2026-11-23 at 18:40 |12 mm; )",
        behind in "(|\\.| tomorrow|, then the ward| x12|\\)|; 38\\.4)",
    ) {
        for number in [
            format!("{area}-{exchange}-{line:04}"),
            format!("({area}) {exchange}-{line:04}"),
            format!("{area}.{exchange}.{line:04}"),
            format!("{area} {exchange} {line:04}"),
            format!("{area}{exchange}{line:04}"),
            format!("1-{area}-{exchange}-{line:04}"),
            format!("+1 {area} {exchange} {line:04}"),
            format!("+1{area}{exchange}{line:04}"),
            format!("{exchange}-{line:04}"),
            format!("+{country} {subscriber}"),
            format!("00{country} {subscriber}"),
            format!("+{country} ({area}) {exchange} {line:04}"),
            format!("+{country}-{area}-{exchange}-{line:04}"),
        ] {
            let text = format!("{before}{number}{behind}");
            prop_assert_eq!(find(&text), Some("a telephone number"), "{}", text);
        }
    }

    #[test]
    fn no_text_makes_it_fail(text in "\\PC{0,80}") {
        _ = find(&text);
    }
}
