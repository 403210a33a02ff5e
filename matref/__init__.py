"""Reference data and estimates for notebooks made from salvaged paper, cloth and card."""
