"""The bench: what the decisions so far have done to the instrument.

A teaching model with open assumptions. It never validates a cleaning process.
"""
