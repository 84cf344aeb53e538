"""choose_package(problem) -> PackageChoice: the smallest kit that brings every target in.

The flow: `problem` (places, what may stand there, what there is to pack), `programme` (the choice,
within `bounds`), `judging` (the targets with it), `reach` (what stands in the way), `told` and
`words`.
"""
