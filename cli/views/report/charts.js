// Draws plots; runs while the report is made.
