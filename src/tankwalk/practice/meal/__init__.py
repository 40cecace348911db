"""One meal walked tank by tank: what is left over, what goes in, how they go for it."""
