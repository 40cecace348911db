"""What is meant: the plan of a site, read from plan.toml and checked whole."""
