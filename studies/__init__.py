"""What people do with it: briefs, runs, sheets, lessons, the command line."""
