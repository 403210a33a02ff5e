"""What old and foreign numbers mean: one module for each kind of number, all returning lists of `Reading`."""
