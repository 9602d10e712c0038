"""Where the machines of a campaign meet: an Optuna storage in a PostgreSQL database.

Every epoch is an Optuna study of its own, so that nothing grows with the length of a campaign. One trial of it is the
epoch's plan, complete from the first moment on: its start and what its islands are to do, as the machine decided that
was first. Every other trial is one island. A machine claims a waiting one, shows every now and then that it is alive,
and completes it with what was found. Of trials of the same island that are alive the lowest number counts, and the
others are pruned before anybody claims them; a trial whose machine has not been heard of fails, and any machine that
sees an island without a trial that is alive adds one. So an island is found once, whoever disappears.

This is the one module that knows Optuna.
"""

import os
import socket
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass

import optuna
from optuna.distributions import IntDistribution
from optuna.exceptions import (
    DuplicatedStudyError,
    ExperimentalWarning,
    StorageInternalError,
    UpdateFinishedTrialError,
)
from optuna.storages import RDBStorage, fail_stale_trials
from optuna.study import Study, StudyDirection
from optuna.trial import FrozenTrial, TrialState, create_trial
from sqlalchemy import create_engine, func, select
from sqlalchemy.exc import ArgumentError, InterfaceError, OperationalError, PendingRollbackError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from optimiser.errors import RockwrightError
from optimiser.search.shared.address import HIDDEN, checked, secrets_of, without_secrets
from optimiser.search.shared.patience import AwayError

BEAT = 60
"""A machine shows that it is alive every so many seconds;"""
GRACE = 180
"""one that has not for so long [s] has lost its islands to the others. Shorter ones have failed live machines."""
CONNECT = 10
"""How long a connection may take [s]."""
LOCK = 7_625_597_484_987
"""The number of the database's lock under which one machine at a time makes the tables."""

PLAN = -1
"""The island's number that stands for the epoch's plan."""
DISTRIBUTIONS = {"epoch": IntDistribution(0, 999_999_999), "island": IntDistribution(PLAN, 999_999)}
TEXT = "text"
"""The attribute of a trial that holds its plan, or what its island found;"""
MACHINE = "machine"
"""and the one that names who works at it."""
ALIVE = (TrialState.WAITING, TrialState.RUNNING, TrialState.COMPLETE)


def campaign_name(fingerprint: str, seed: int, evaluations: int | None) -> str:
    """What a campaign is called in its storage: by its study's fingerprint, its seed and where it ends."""
    end = "without end" if evaluations is None else f"{evaluations} evaluations"
    return f"rockwright {fingerprint}, seed {seed}, {end}"


class StorageError(RockwrightError):
    """A storage that refuses, or that holds something else."""


@dataclass(frozen=True)
class Waiting:
    """An island that waits for a machine, as a trial of its epoch's study.

    `begun`: where the last machine left it, as text; None: at its start.
    """

    island: int
    trial: int
    begun: str | None = None


@dataclass(frozen=True)
class Standing:
    """How an epoch stands: what finished islands have found, as text, and which ones wait."""

    found: dict[int, str]
    waiting: tuple[Waiting, ...]


class Board:
    """The storage of one campaign; a context manager, which closes its connections.

    Every method raises AwayError where the storage does not answer, to be tried again, and StorageError
    where it refuses; the address of no such storage raises AddressError.
    """

    def __init__(self, address: str, campaign: str, beat: int = BEAT, grace: int = GRACE) -> None:
        self._campaign, self.beats = campaign, beat
        self._secrets = secrets_of(address)
        optuna.logging.set_verbosity(optuna.logging.ERROR)
        try:
            self._storage = _opened(checked(address), beat, grace)
        except (ArgumentError, SQLAlchemyError, RuntimeError) as error:
            raise StorageError(f"--storage {without_secrets(address)}: {self._said(error)}") from None
        self._studies: dict[int, Study] = {}

    def __enter__(self) -> "Board":
        return self

    def __exit__(self, *_: object) -> None:
        self._storage.engine.dispose()

    def latest(self) -> int:
        """The latest epoch that the campaign has come to, 0 where there is none."""
        with self._answering():
            names = optuna.get_all_study_names(self._storage)
        lead = self._name(0)[:-1]
        numbers = [int(name.removeprefix(lead)) for name in names if name.startswith(lead)]
        return next((number for number in sorted(numbers, reverse=True) if self.plan(number) is not None), 0)

    def plan(self, epoch: int) -> str | None:
        """The text of an epoch's plan; None: there is none yet."""
        with self._answering():
            study = self._study(epoch)
            return None if study is None else _plan(study)

    def propose(self, epoch: int, text: str) -> str:
        """The text of an epoch's plan, which is the one given where no other machine was first."""
        with self._answering():
            study = self._study(epoch) or self._created(epoch)
            if _plan(study) is None:
                study.add_trial(_trial(epoch, PLAN, TrialState.COMPLETE, text))
            plan = _plan(study)
        if plan is None:
            raise StorageError(f"the storage does not keep what it is given ({self._name(epoch)})")
        return plan

    def look(self, epoch: int, islands: int) -> Standing:
        """How a planned epoch of so many islands stands; islands that nobody is at are made to wait."""
        with self._answering():
            study = self._planned(epoch)
            firsts = _firsts(study)
            for island in set(range(islands)) - firsts.keys():
                study.add_trial(_trial(epoch, island, TrialState.WAITING))
            for trial in study.get_trials(deepcopy=False, states=(TrialState.WAITING,)):
                first = firsts.setdefault(_island(trial), trial)
                if first.number != trial.number:
                    self._end(self._id(study, trial.number), TrialState.PRUNED)
        begun = _left(study)
        waiting = [
            Waiting(island, trial.number, begun.get(island))
            for island, trial in firsts.items()
            if trial.state is TrialState.WAITING
        ]
        found = {
            island: str(trial.user_attrs[TEXT])
            for island, trial in firsts.items()
            if trial.state is TrialState.COMPLETE and island != PLAN
        }
        return Standing(found, tuple(sorted(waiting, key=lambda one: one.island)))

    def claim(self, epoch: int, waiting: Waiting) -> bool:
        """Whether a waiting island is this machine's now."""
        with self._answering():
            trial = self._id(self._planned(epoch), waiting.trial)
            try:
                self._storage.record_heartbeat(trial)  # before it runs: no moment in which it runs and nobody is heard
                claimed = self._storage.set_trial_state_values(trial, TrialState.RUNNING)
                if claimed:
                    self._storage.set_trial_user_attr(trial, MACHINE, f"{socket.gethostname()} {os.getpid()}")
            except UpdateFinishedTrialError:
                return False
        return claimed

    def beat(self, epoch: int, claims: Sequence[Waiting]) -> None:
        """Show that this machine is at its islands, and have those fail whose machines have not been heard of."""
        with self._answering():
            study = self._planned(epoch)
            for claim in claims:
                self._storage.record_heartbeat(self._id(study, claim.trial))
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", ExperimentalWarning)
                fail_stale_trials(study)

    def deliver(self, epoch: int, claim: Waiting, text: str, worth: float) -> bool:
        """Complete an island with what it found; False where it was given to another machine meanwhile."""
        with self._answering():
            trial = self._id(self._planned(epoch), claim.trial)
            try:
                self._storage.set_trial_user_attr(trial, TEXT, text)
            except UpdateFinishedTrialError:
                return self._storage.get_trial(trial).state is TrialState.COMPLETE
            return self._end(trial, TrialState.COMPLETE, [worth])

    def give_back(self, epoch: int, claim: Waiting, text: str | None) -> None:
        """Leave an island to others, who go on from where it stands by a text."""
        with self._answering():
            trial = self._id(self._planned(epoch), claim.trial)
            if text is not None:
                with suppress(UpdateFinishedTrialError):
                    self._storage.set_trial_user_attr(trial, TEXT, text)
            self._end(trial, TrialState.FAIL)

    def _end(self, trial: int, state: TrialState, values: Sequence[float] | None = None) -> bool:
        """End a trial; False where it was at its end."""
        try:
            return self._storage.set_trial_state_values(trial, state, values)
        except UpdateFinishedTrialError:
            return False

    def _name(self, epoch: int) -> str:
        return f"{self._campaign}, epoch {epoch}"

    def _study(self, epoch: int) -> Study | None:
        if epoch not in self._studies:
            try:
                study = optuna.load_study(study_name=self._name(epoch), storage=self._storage)
            except KeyError:
                return None
            self._studies = {epoch: study}  # those before are of no use, and remember all that they have read
        return self._studies[epoch]

    def _planned(self, epoch: int) -> Study:
        study = self._study(epoch)
        if study is None:
            raise StorageError(f"the storage has lost {self._name(epoch)}; somebody may have emptied it")
        return study

    def _created(self, epoch: int) -> Study:
        with suppress(DuplicatedStudyError):  # another machine was first
            self._storage.create_new_study([StudyDirection.MAXIMIZE], self._name(epoch))
        return self._planned(epoch)

    def _id(self, study: Study, trial: int) -> int:
        return self._storage.get_trial_id_from_study_id_trial_number(
            self._storage.get_study_id_from_name(study.study_name), trial
        )

    @contextmanager
    def _answering(self) -> Iterator[None]:
        """A context that says by AwayError that the storage does not answer."""
        try:
            yield
        except (SQLAlchemyError, StorageInternalError) as error:
            if _is_away(error):
                raise AwayError(self._said(error)) from None
            raise StorageError(f"the storage refuses: {self._said(error)}") from None

    def _said(self, error: BaseException) -> str:
        """What the database says, in a line, without secrets."""
        while isinstance(error, StorageInternalError) and error.__cause__ is not None:
            error = error.__cause__
        said = str(getattr(error, "orig", None) or error).strip().splitlines() or [type(error).__name__]
        line = said[0]
        for secret in self._secrets:
            line = line.replace(secret, HIDDEN)
        return line


def _opened(address: str, beat: int, grace: int) -> RDBStorage:
    """The storage, its tables made where they are missing: by one machine at a time."""
    patient: dict[str, object] = {"connect_timeout": CONNECT}
    alone = create_engine(address, poolclass=NullPool, connect_args=patient)
    with alone.connect() as connection, warnings.catch_warnings():
        connection.execute(select(func.pg_advisory_lock(LOCK)))  # let go of with the connection
        warnings.simplefilter("ignore", ExperimentalWarning)
        return RDBStorage(
            address,
            engine_kwargs={"pool_pre_ping": True, "connect_args": patient},
            heartbeat_interval=beat,
            grace_period=grace,
        )


def _plan(study: Study) -> str | None:
    plans = [trial for trial in study.get_trials(deepcopy=False) if _island(trial) == PLAN]
    return str(plans[0].user_attrs[TEXT]) if plans else None


def _firsts(study: Study) -> dict[int, FrozenTrial]:
    """Of the trials of each island that are alive, the one with the lowest number."""
    firsts: dict[int, FrozenTrial] = {}
    for trial in study.get_trials(deepcopy=False, states=ALIVE):
        firsts.setdefault(_island(trial), trial)
    return firsts


def _left(study: Study) -> dict[int, str]:
    """Where islands were left by the last machine that gave them back."""
    failed = study.get_trials(deepcopy=False, states=(TrialState.FAIL,))
    return {_island(trial): str(trial.user_attrs[TEXT]) for trial in failed if TEXT in trial.user_attrs}


def _island(trial: FrozenTrial) -> int:
    return int(trial.params["island"])


def _trial(epoch: int, island: int, state: TrialState, text: str | None = None) -> FrozenTrial:
    return create_trial(
        state=state,
        value=None if text is None else 0.0,
        params={"epoch": epoch, "island": island},
        distributions=dict(DISTRIBUTIONS),
        user_attrs={} if text is None else {TEXT: text},
    )


def _is_away(error: BaseException | None) -> bool:
    """Whether an error, or any that led to it, says that the server was not there.

    A session that was cut off within a transaction says only that this has to be rolled back, and Optuna less still.
    """
    if error is None:
        return False
    if isinstance(error, OperationalError | InterfaceError | PendingRollbackError):
        return True
    return _is_away(error.__cause__) or _is_away(error.__context__)
