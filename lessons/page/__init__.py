"""The page a trainee meets: the decision card, its screens, and the lesson behind them."""
