"""Who is ready for what, why, and what comes next."""
