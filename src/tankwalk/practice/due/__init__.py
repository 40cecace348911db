"""What is owed and when: meals and samples by age, checks, and whether anybody is there."""
