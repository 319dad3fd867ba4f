//! Colours of pages and drawings: contrast, and how far verdicts are apart for every eye.

use coldsquare_engine::drawing::palette::{COLOURS, Colour};

fn named(name: &str) -> &'static Colour {
    COLOURS
        .iter()
        .find(|colour| colour.name == name)
        .expect("a colour of the palette")
}

/// Linear red, green and blue of `#rrggbb` (IEC 61966-2-1).
fn linear(hex: &str) -> [f64; 3] {
    [1, 3, 5].map(|at| {
        let value =
            f64::from(u8::from_str_radix(&hex[at..at + 2], 16).expect("two hex digits")) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    })
}

fn luminance([red, green, blue]: [f64; 3]) -> f64 {
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// WCAG 2.2, "contrast ratio".
fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(linear(a)) + 0.05, luminance(linear(b)) + 0.05);
    a.max(b) / a.min(b)
}

#[test]
fn text_and_marks_stand_out_from_their_ground_in_light_and_in_dark() {
    let text = [
        ("ink", "paper"),
        ("ink", "sheet"),
        ("quiet", "paper"),
        ("quiet", "sheet"),
        ("ink", "within-limits-fill"),
        ("ink", "marginal-fill"),
        ("on-out-of-limits", "out-of-limits"),
        ("on-out-of-limits", "heat"),
        ("within-limits", "sheet"),
        ("marginal", "sheet"),
        ("out-of-limits", "sheet"),
        ("out-of-limits", "within-limits-fill"),
        ("quiet", "within-limits-fill"),
    ];
    let marks = [
        ("within-limits", "metal-2"),
        ("marginal", "metal-2"),
        ("out-of-limits", "metal-2"),
        ("heat", "sheet"),
        ("volts", "sheet"),
        ("amps", "sheet"),
        ("edge-of-metal", "sheet"),
    ];
    let pairs = text
        .iter()
        .map(|pair| (pair, 4.5))
        .chain(marks.iter().map(|pair| (pair, 3.0)));
    for ((front, back), least) in pairs {
        let (front, back) = (named(front), named(back));
        for (ground, found) in [
            ("light", contrast(front.light, back.light)),
            ("dark", contrast(front.dark, back.dark)),
        ] {
            assert!(
                found >= least,
                "{} on {} in {ground}: {found:.2}",
                front.name,
                back.name
            );
        }
    }
}

/// Dichromats after G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based model for simulation
/// of color vision deficiency", IEEE TVCG 15(6), 2009, severity 1.0, on linear RGB; values from memory.
const DEFICIENCIES: [(&str, [[f64; 3]; 3]); 4] = [
    (
        "full vision",
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
    ),
    (
        "protan",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "deutan",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "tritan",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

/// CIE 1976 L*a*b* of linear sRGB, white D65.
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let xyz = [
        [0.4124, 0.3576, 0.1805],
        [0.2126, 0.7152, 0.0722],
        [0.0193, 0.1192, 0.9505],
    ];
    let white = [0.9505, 1.0, 1.089];
    let f = |k: usize| {
        let t: f64 = (0..3).map(|i| xyz[k][i] * rgb[i]).sum::<f64>() / white[k];
        if t > 0.008856 {
            t.cbrt()
        } else {
            7.787 * t + 16.0 / 116.0
        }
    };
    [
        116.0 * f(1) - 16.0,
        500.0 * (f(0) - f(1)),
        200.0 * (f(1) - f(2)),
    ]
}

/// Shapes and words tell verdicts apart without any colour; the colours help, also those who do not see all of them.
#[test]
fn the_colours_of_verdicts_are_far_apart_for_every_eye() {
    let verdicts = ["within-limits", "marginal", "out-of-limits"].map(named);
    for (eye, matrix) in DEFICIENCIES {
        for (ground, of) in [
            (
                "light",
                (|c: &Colour| c.light) as fn(&Colour) -> &'static str,
            ),
            ("dark", |c| c.dark),
        ] {
            let seen = verdicts.map(|colour| {
                let rgb = linear(of(colour));
                lab(matrix.map(|row| (0..3).map(|k| row[k] * rgb[k]).sum::<f64>().clamp(0.0, 1.0)))
            });
            for (a, b) in [(0, 1), (0, 2), (1, 2)] {
                let apart = (0..3)
                    .map(|k| (seen[a][k] - seen[b][k]).powi(2))
                    .sum::<f64>()
                    .sqrt();
                assert!(
                    apart > 20.0,
                    "{eye}, {ground}: {} and {} are {apart:.0} apart",
                    verdicts[a].name,
                    verdicts[b].name
                );
            }
        }
    }
}
