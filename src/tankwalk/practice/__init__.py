"""What a careful hatchery does with the plan and the record; no screen."""
