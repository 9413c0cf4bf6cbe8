//! The one kit of pictures: scales, lines, areas, texts and marks, to one decimal.
//!
//! Whatever a color says, a shape, a broken line or a word says too. Left out on purpose: scripts, links, and styles of
//! their own; the style of the page that a picture is in has them.

use maud::{Markup, Render, html};

/// A place in a picture: to the right, and down.
pub(super) type Place = (f64, f64);

/// A picture with a title, and a description for those who cannot see it; `name` is unique in its page.
pub(super) fn picture(name: &str, title: &str, about: &str, (width, height): (f64, f64), marks: &[Markup]) -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (whole(width)) " " (whole(height)) } role="img"
            aria-labelledby={ (name) "-title " (name) "-about" }
        {
            title id={ (name) "-title" } { (title) }
            desc id={ (name) "-about" } { (about) }
            @for mark in marks { (mark) "\n" }
        }
    }
}

/// A mark with the words for what it is.
pub(super) fn titled(title: &str, marks: impl Render) -> Markup {
    html! { g { title { (title) } (marks) } }
}

pub(super) fn text(class: &str, (x, y): Place, said: &str) -> Markup {
    html! { text x=(tenth(x)) y=(tenth(y)) class=[is_class(class)] { (said) } }
}

pub(super) fn line(class: &str, from: Place, to: Place) -> Markup {
    html! { line class=(class) x1=(tenth(from.0)) y1=(tenth(from.1)) x2=(tenth(to.0)) y2=(tenth(to.1)) {} }
}

/// A line through places.
pub(super) fn path(class: &str, places: &[Place]) -> Markup {
    html! { polyline class=(class) points=(points(places)) {} }
}

/// The area within places.
pub(super) fn area(class: &str, places: &[Place]) -> Markup {
    html! { polygon class=(class) points=(points(places)) {} }
}

pub(super) fn circle(class: &str, (x, y): Place, radius: f64) -> Markup {
    html! { circle class=(class) cx=(tenth(x)) cy=(tenth(y)) r=(tenth(radius)) {} }
}

/// A rectangle with round corners, from its upper left one on.
pub(super) fn rect(class: &str, (x, y): Place, (width, height): (f64, f64)) -> Markup {
    html! {
        rect class=(class) x=(tenth(x)) y=(tenth(y)) width=(tenth(width.max(0.0))) height=(tenth(height)) rx="2" {}
    }
}

/// Values as places along one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub(super) values: (f64, f64),
    pub(super) places: (f64, f64),
    /// The exponent of a position: below 1 it spreads values near the first one.
    pub(super) power: f64,
}

impl Scale {
    /// The place of a value; of one outside of the scale its end.
    pub(super) fn of(&self, value: f64) -> f64 {
        let (low, high) = self.values;
        let part = if value.is_finite() && high > low { ((value - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
        self.places.0 + part.powf(self.power) * (self.places.1 - self.places.0)
    }
}

fn is_class(class: &str) -> Option<&str> {
    (!class.is_empty()).then_some(class)
}

fn points(places: &[Place]) -> String {
    places.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ")
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

fn whole(value: f64) -> String {
    format!("{value:.0}")
}
