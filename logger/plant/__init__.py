"""The simulated plant: energy and mass balances stepped in time, with the truth beside them."""
