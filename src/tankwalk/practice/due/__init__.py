"""What is owed and when: tasks, meals and samples by age, checks, and whether anybody is there."""
