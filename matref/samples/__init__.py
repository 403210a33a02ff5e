"""Personal samples: what a person measured, kept as typed and as parsed, sharpening later estimates."""

from matref.samples.collection import Samples
from matref.samples.outcome import ImportRefused, ImportReport, RowOutcome
from matref.samples.record import Measured, Sample, Version

__all__ = ["ImportRefused", "ImportReport", "Measured", "RowOutcome", "Sample", "Samples", "Version"]
