//! What a page is made of: sheets with boxes, steps, pictures and labelled fields.

use super::*;

#[test]
fn a_sheet_by_the_scale_has_boxes_and_lines_to_write_on() {
    let asked = [
        TWO_SALTS,
        ("ratio", "100"),
        ("volume", "20"),
        ("scale", "0.1"),
        ("paper", "weigh"),
    ];
    let page = get("stock", &asked).text;
    let boxes = page.matches("<input type=\"checkbox\"><span").count();
    assert!(boxes >= 12, "{boxes}");
    assert_eq!(
        page.matches("class=\"write\"").count(),
        3,
        "batch, date, by"
    );
    assert!(page.contains("<caption>Tank A, 20 L, 1:100</caption>"));
    // A caution at its step has the width of the sheet.
    assert!(page.contains("<tr class=\"more\"><td></td><td colspan=\"4\">! Feeds fire"));
    let labels = get("stock", &[&asked[..4], &[("paper", "labels")]].concat()).text;
    assert_eq!(labels.matches("class=\"label\"").count(), 2);
}

#[test]
fn pictures_say_what_they_show() {
    let page = get("formulate", &question(&[("prices", "demo")])).text;
    assert!(page.contains("<title>Cost per 1000 L by fertilizer</title>"));
    assert!(page.matches("<title>inside the band</title>").count() >= 12);
    for svg in page.split("<svg").skip(1) {
        let (svg, _) = svg.split_once("</svg>").expect("closed");
        assert!(
            svg.contains("role=\"img\"") && svg.contains("<title>"),
            "{svg}"
        );
        assert!(
            !svg.contains("fill=") && !svg.contains('#'),
            "colours are the style sheet's: {svg}"
        );
    }
    let miss = [
        ("recipe", "hoagland-2"),
        ("water", "quarry-end-well"),
        ("aim-Ca", "..50"),
    ];
    let page = get("formulate", &miss).text;
    assert!(
        page.contains("<strong>above</strong>") && page.contains("OUTSIDE"),
        "{page}"
    );
}

/// Every label names a field that is there, and every field has a label.
#[test]
fn labels_and_fields_belong_together() {
    for page in PAGES {
        let text = get(page.path(), &[]).text;
        let ids: Vec<&str> = text
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        for (at, id) in ids.iter().enumerate() {
            assert!(!ids[..at].contains(id), "{} twice on {}", id, page.path());
        }
        for name in text
            .split("<label for=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            assert!(ids.contains(&name), "{name} on {}", page.path());
        }
        if matches!(page, Page::Job(_)) {
            assert!(text.matches("<label for=").count() >= 5, "{}", page.path());
        }
    }
}

#[test]
fn a_step_is_big_and_carries_its_caution() {
    let asked = [
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("tank", "120"),
        ("reading", "1.6"),
        ("ph", "7.2"),
        ("acid", "nitric-acid-38"),
    ];
    let page = get("correct", &asked).text;
    assert!(page.contains("<table class=\"steps\"><caption>What to do, in order</caption>"));
    assert!(page.contains("! acid. "), "{page}");
}
