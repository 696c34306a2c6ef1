"""What a learner can do, and what to practise next: skills, ratings, memory, mastery, a day's plan. Pure and seeded."""
