"""Pictures: `plots` is how they are drawn; `day`, `fit` and `season` what is on them."""
