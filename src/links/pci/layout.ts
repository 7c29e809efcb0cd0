/**
 * The layout of a clocked bus: the kinds of clock that a transaction is made of, each with the account
 * it is charged to. The unit is one clock of the bus, whole; a bus has one ledger, for both directions.
 *
 * One rule for simulator and observer. It needs nothing but what is on the bus:
 *
 * 1. A clock in which FRAME# and IRDY# are both deasserted belongs to no transaction. The first behind
 *    one is `turnaround`, whoever waits; any other is `arbitration` where some REQ# is asserted in that
 *    clock, else `idle`.
 * 2. All clocks of a transaction that moved no data are charged as a whole, its turnaround apart: to
 *    `requests` where it ended in a Split Response, to `retry` otherwise (retry, disconnect before any
 *    data, either abort).
 * 3. In a transaction that moved data: address, dual address and attribute phases are `headers`; a clock
 *    in which data moves is `payload`, whatever its byte enables; a clock without data in which STOP# is
 *    asserted and TRDY# is not is `retry` (with TRDY# the master is the one not ready); the clock behind
 *    the (last) address phase of a conventional read, in which AD changes hands, is `turnaround`; every
 *    other clock is `wait_states`.
 *
 * A transaction that the end of a recording cuts is charged as one that moved data if it had moved some,
 * else as its clocks would be if it went on to.
 */
import type { AccountId } from '../../model/accounts.ts';
import type { Basis } from '../../model/basis.ts';

export interface PhaseDefinition {
  readonly id: string;
  readonly title: string;
  /** What a clock of this kind is, in terms of the lines. */
  readonly definition: string;
  readonly account: AccountId;
  readonly clause: string;
  readonly basis: Basis;
}

const local = 'PCI Local Bus Specification 3.0, clause';
const addendum = 'PCI-X Protocol Addendum, clause on';

function phase<const Id extends string>(
  id: Id,
  title: string,
  definition: string,
  account: AccountId,
  clause: string,
) {
  return { id, title, definition, account, clause, basis: 'memory' } as const;
}

/** Kinds of clock, in the order in which a transaction can have them. */
export const phases = [
  phase(
    'address',
    'address phase',
    'The first clock of FRAME#: address and command.',
    'headers',
    `${local} 3.2`,
  ),
  phase(
    'dual_address',
    'dual address cycle',
    'The second address clock of an address above 4 GiB.',
    'headers',
    `${local} 3.9`,
  ),
  phase(
    'attribute',
    'attribute phase',
    'The clock behind the address phase in PCI-X: requester, tag, byte count.',
    'headers',
    `${addendum} attributes`,
  ),
  phase(
    'read_turnaround',
    'read turnaround',
    'The clock behind the address phase of a conventional read: AD changes hands.',
    'turnaround',
    `${local} 3.3.1`,
  ),
  phase(
    'response',
    'response',
    'Clocks until the target answers: decode, and in PCI-X the clock of DEVSEL# itself.',
    'wait_states',
    `${local} 3.6.1; ${addendum} DEVSEL# timing`,
  ),
  phase(
    'wait',
    'wait state',
    'A clock of a transaction, once answered, in which one side is not ready for data.',
    'wait_states',
    `${local} 3.5.1`,
  ),
  phase(
    'data',
    'data phase',
    'A clock in which data moves: IRDY# and TRDY# asserted.',
    'payload',
    `${local} 3.2.1`,
  ),
  phase(
    'stop',
    'target termination',
    'A clock without data in which the target asserts STOP# and not TRDY#.',
    'retry',
    `${local} 3.3.3.2`,
  ),
  phase(
    'turnaround',
    'turnaround',
    'The first clock behind a transaction with FRAME# and IRDY# deasserted.',
    'turnaround',
    `${local} 3.3.4`,
  ),
  phase(
    'arbitration',
    'arbitration',
    'A later clock without a transaction in which some master asserts REQ#.',
    'arbitration',
    `${local} 3.4`,
  ),
  phase(
    'idle',
    'idle',
    'A later clock without a transaction in which none does.',
    'idle',
    `${local} 3.4.3`,
  ),
  phase(
    'retried',
    'transaction without data',
    'Any clock of a transaction that ends without data: retry or abort.',
    'retry',
    `${local} 3.3.3`,
  ),
  phase(
    'split_request',
    'split request',
    'Any clock of a transaction that ends in a Split Response.',
    'requests',
    `${addendum} split transactions`,
  ),
] as const satisfies readonly PhaseDefinition[];

export type PhaseId = (typeof phases)[number]['id'];

/** Place of a phase in the list: the index of counts by phase. */
export const phaseIndex: Readonly<Record<PhaseId, number>> = Object.fromEntries(
  phases.map((p, i) => [p.id, i]),
) as Record<PhaseId, number>;
