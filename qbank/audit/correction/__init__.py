"""The corrected copy of a bank: keys proved wrong are replaced, every other byte stays.

Data flows from `spans` (a document with the bytes each thing stands in) through `asi_keys`,
`qti_keys` and `cells` (which bytes state a key) and `newkeys` (what is to stand there) to
`correcting` (the copy, and the proof that nothing else changed).
"""
