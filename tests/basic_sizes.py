"""GNU units 3.15, definitions.units: basic size in inches, and g/m² for a pound in 500 sheets of it."""

GNU_UNITS = {
    "bond": (17, 22, 3.759730),
    "book": (25, 38, 1.480146),
    "cover": (20, 26, 2.704114),
    "bristol": (22.5, 28.5, 2.192810),
    "index": (25.5, 30.5, 1.807958),
    "tag": (24, 36, 1.627476),
    "blotting": (19, 24, 3.083639),
}
