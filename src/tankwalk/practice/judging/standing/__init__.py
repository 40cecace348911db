"""What is wrong and still stands: how long a flag lives, what keeps it, what takes it back."""
