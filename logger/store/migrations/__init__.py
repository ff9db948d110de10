"""The store's schema, step by step; run by `wormtub migrate`."""
