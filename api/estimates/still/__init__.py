"""What a still's temperatures mean: strengths, the run's position, the time to go."""
