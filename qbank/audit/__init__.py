"""Checking an existing bank: items of anyone's making are read, solved again, and judged.

Data flows from `question` (items as text and numbers) through `matching` and `resolving` to
`verdict` (what is reported).
"""
