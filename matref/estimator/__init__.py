"""From evidence to an estimate of caliper, bulk and grammage."""
