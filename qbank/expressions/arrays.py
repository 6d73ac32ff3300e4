"""Expressions evaluated on arrays, one row an instance, about as fast as NumPy by hand.

Arithmetic is float64 throughout, so nothing wraps; what has no value is NaN or infinite and
never a warning. Comparisons are tolerant: sides that agree to a relative 1e-12 count as equal
(`>=` holds, `>` does not), because whether a decimal lies on a boundary must not hang on the
last bit of its binary form.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from qbank.expressions.lowering import Lowering, Operation
from qbank.expressions.tree import Node

BLOCK = 16384  # rows worked on at a time; smaller pays more for calls than the cache gives back

Step = tuple[Callable[..., Any], int, int, int]  # function, one or two registers (-1), result


def compile_nodes(nodes: Sequence[Node]) -> Program:
    """One program that evaluates all `nodes`; subexpressions they share are evaluated once."""
    lowering = Lowering()
    results = tuple(lowering.add(node) for node in nodes)
    return Program(tuple(lowering.operations), results)


class Program:
    """Compiled expressions; calls are independent of each other and safe from several threads.

    `program(env, n)` takes the quantities by name, each of shape (n,) or a single number, data
    lists (n, m) padded with NaN, and gives one new array per expression: (n,) float64, (n,) bool
    for a condition, (n, m) for an expression that is itself a list. `env` is not modified, and no
    result shares memory with it, with another result or with a later call.

    Raises `KeyError` for a quantity that is missing, `ValueError` for one of another shape.
    """

    def __init__(self, operations: tuple[Operation, ...], results: tuple[int, ...]) -> None:
        self._operations = operations
        self._results = results
        self._reduces = any(operation.kind == "reduction" for operation in operations)
        self._plan = _Plan(operations, results) if not self._reduces else None
        self.names = frozenset(o.name for o in operations if o.kind == "name")

    def __call__(self, env: Mapping[str, ArrayLike], n: int) -> list[NDArray[Any]]:
        inputs = {name: _checked(name, env[name], n) for name in self.names}
        lists = {name for name, array in inputs.items() if array.ndim == 2}
        with np.errstate(all="ignore"):
            if self._plan is not None and not lists:
                return self._plan.run(inputs, n)
            return _run_with_lists(self._operations, self._results, inputs, n)


def _checked(name: str, value: ArrayLike, n: int) -> NDArray[np.float64]:
    array = np.asarray(value, dtype=np.float64)
    if array.ndim and (array.ndim > 2 or len(array) != n):
        raise ValueError(f"{name}: expected shape ({n},) or ({n}, m), found {array.shape}")
    return array


class _Plan:
    """Operations on (n,) arrays with registers assigned: results go to memory that is free.

    Registers are numbered: inputs, constants, then working arrays. A working array is taken over
    by a later operation once its value was used for the last time; those that hold results are
    written once, straight into the arrays that are returned.
    """

    def __init__(self, operations: tuple[Operation, ...], results: tuple[int, ...]) -> None:
        self.inputs: list[str] = []
        self.constants: list[float] = []
        self.steps: list[Step] = []
        register: dict[int, int] = {}
        for place, operation in enumerate(operations):
            if operation.kind == "name":
                register[place] = len(self.inputs)
                self.inputs.append(operation.name)
        for place, operation in enumerate(operations):
            if operation.kind == "constant":
                register[place] = len(self.inputs) + len(self.constants)
                self.constants.append(operation.constant)
        self.first_working = len(self.inputs) + len(self.constants)
        self.truth: list[bool] = []  # of each working array
        last_use = _last_uses(operations)
        free: dict[bool, list[int]] = {False: [], True: []}
        owned = {place for place in results if operations[place].kind == "elementwise"}
        for place, operation in enumerate(operations):
            if operation.function is None:
                continue
            sources = [register[argument] for argument in operation.arguments]
            for argument in set(operation.arguments):
                passing = operations[argument].function is not None and argument not in owned
                if passing and last_use[argument] == place:
                    free[operations[argument].truth].append(register[argument])
            if place in owned or not free[operation.truth]:
                register[place] = self.first_working + len(self.truth)
                self.truth.append(operation.truth)
            else:
                register[place] = free[operation.truth].pop()
            second = sources[1] if len(sources) == 2 else -1
            function = _with_out(operation.function)
            self.steps.append((function, sources[0], second, register[place]))
        self.results = [
            (register[place], place in owned and results.index(place) == i)
            for i, place in enumerate(results)
        ]
        self.owned = sorted(register[place] for place in owned)

    def run(self, inputs: Mapping[str, NDArray[np.float64]], n: int) -> list[NDArray[Any]]:
        whole: list[Any] = [inputs[name] for name in self.inputs]
        # a plain float as operand is quicker than an array without dimensions
        whole = [array if array.ndim else float(array) for array in whole]
        whole += self.constants
        whole += [None] * len(self.truth)
        for register in self.owned:
            truth = self.truth[register - self.first_working]
            whole[register] = np.empty(n, dtype=np.bool_ if truth else np.float64)
        size = min(n, BLOCK)
        working = list(whole)
        for i, truth in enumerate(self.truth, self.first_working):
            if working[i] is None:
                working[i] = np.empty(size, dtype=np.bool_ if truth else np.float64)
        if n <= BLOCK:
            self._work(working)
        else:
            self._work_in_blocks(whole, working, n)
        return [
            whole[register] if direct else _filled(whole[register], n)
            for register, direct in self.results
        ]

    def _work_in_blocks(self, whole: list[Any], working: list[Any], n: int) -> None:
        sliced = [i for i, array in enumerate(whole) if isinstance(array, np.ndarray)]
        temporary = [i for i in range(self.first_working, len(whole)) if whole[i] is None]
        for start in range(0, n, BLOCK):
            stop = min(start + BLOCK, n)
            for i in sliced:
                working[i] = whole[i][start:stop]
            if stop - start < BLOCK:
                for i in temporary:
                    working[i] = working[i][: stop - start]
            self._work(working)

    def _work(self, registers: list[Any]) -> None:
        for function, first, second, result in self.steps:
            if second < 0:
                function(registers[first], registers[result])
            else:
                function(registers[first], registers[second], registers[result])


def _last_uses(operations: tuple[Operation, ...]) -> dict[int, int]:
    """For each operation the last one that needs its result."""
    return {
        argument: place
        for place, operation in enumerate(operations)
        for argument in operation.arguments
    }


def _filled(value: Any, n: int) -> NDArray[Any]:
    """A new array of n rows with a value that no operation wrote for this result alone."""
    dtype = getattr(value, "dtype", np.dtype(np.float64))
    result = np.empty(n, dtype=dtype)
    result[...] = value
    return result


def _with_out(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function that takes the array for its result as last argument, as ufuncs do."""
    if function in (np.minimum, np.maximum):  # NumPy wants their `out` by keyword

        def extreme(first: Any, second: Any, result: Any) -> None:
            function(first, second, out=result)

        return extreme
    if isinstance(function, np.ufunc):
        return function

    def into(*arguments: Any) -> None:
        arguments[-1][...] = function(*arguments[:-1])

    return into


# ---------------------------------------------------------------------------- data lists


@dataclass(frozen=True, slots=True)
class _Value:
    """A value while lists are about: its array, and the data lists it is made of."""

    array: NDArray[Any]
    lists: frozenset[str] = frozenset()

    def beside_lists(self) -> NDArray[Any]:
        """The array with an axis of its own for the values of a list."""
        return self.array[:, None] if self.array.ndim == 1 and not self.lists else self.array


def _run_with_lists(
    operations: tuple[Operation, ...],
    results: tuple[int, ...],
    inputs: Mapping[str, NDArray[np.float64]],
    n: int,
) -> list[NDArray[Any]]:
    values: list[_Value] = []
    for operation in operations:
        values.append(_evaluated(operation, values, inputs, n))
    given: list[NDArray[Any]] = []
    for place in results:
        array = values[place].array
        shared = operations[place].function is None or any(array is other for other in given)
        if array.ndim < 2:
            given.append(_filled(array, n) if shared or array.ndim == 0 else array)
        else:
            given.append(array.copy() if shared else array)
    return given


def _evaluated(
    operation: Operation,
    values: Sequence[_Value],
    inputs: Mapping[str, NDArray[np.float64]],
    n: int,
) -> _Value:
    if operation.kind == "constant":
        return _Value(np.asarray(operation.constant))
    if operation.kind == "name":
        array = inputs[operation.name]
        return _Value(array, frozenset([operation.name]) if array.ndim == 2 else frozenset())
    arguments = [values[place] for place in operation.arguments]
    function = operation.function
    assert function is not None  # noqa: S101  # only names and constants have none
    if operation.kind == "elementwise":
        lists = frozenset().union(*(argument.lists for argument in arguments))
        arrays = [a.beside_lists() if lists else a.array for a in arguments]
        return _Value(np.asarray(function(*arrays)), lists)
    (argument,) = arguments
    if not argument.lists:
        raise ValueError(f"{function.__name__} of something that is no data list")
    valid = np.logical_and.reduce([~np.isnan(inputs[name]) for name in sorted(argument.lists)])
    return _Value(function(np.broadcast_to(argument.array, (n, valid.shape[1])), valid))
