/**
 * The closed list of ledger accounts. Every tick of every direction of every hop is in exactly one.
 * Order is precedence: when several causes hold a wire idle at once the earliest-arising one still
 * active is charged, and among those that arose together the one listed first.
 */
import type { ClockedBusId, FabricId } from './fabrics.ts';

export interface AccountDefinition {
  readonly id: string;
  readonly title: string;
  /** What is charged here, in one sentence. */
  readonly definition: string;
  /** The fabrics this account can occur on; it is absent from the ledger of every other. */
  readonly fabrics: readonly (FabricId | ClockedBusId)[];
  /** True when the wire carries nothing of this account's: the time is lost waiting. */
  readonly waiting: boolean;
}

const serial: readonly FabricId[] = ['pcie'];
const clocked: readonly ClockedBusId[] = ['pci'];
const stream: readonly ClockedBusId[] = ['stream'];
const all = [...serial, ...clocked];

function account<const Id extends string>(
  id: Id,
  title: string,
  definition: string,
  fabrics: readonly (FabricId | ClockedBusId)[],
  waiting = false,
) {
  return { id, title, definition, fabrics, waiting } as const;
}

export const accounts = [
  account('payload', 'payload', 'Bytes of a stream that the customer asked for.', [
    ...all,
    ...stream,
  ]),
  account(
    'headers',
    'headers',
    'Transaction layer headers of packets that carry payload; on a bus the address and attribute ' +
      'phases of transactions that do.',
    all,
  ),
  account(
    'framing',
    'framing and CRC',
    'Start and end framing, sequence number, link CRC and, where enabled, end-to-end CRC; in flits ' +
      'their CRC and error correction.',
    serial,
  ),
  account(
    'padding',
    'padding and alignment',
    'Bytes sent only to fill a double word or to start the next packet on an allowed lane; unused byte ' +
      'lanes of a beat.',
    [...serial, ...stream],
  ),
  account(
    'line_code',
    'line code',
    'Symbol bits beyond eight a byte; block synchronisation bits.',
    serial,
  ),
  account(
    'clock_compensation',
    'clock compensation',
    'SKP ordered sets and the end-of-data-stream token before them.',
    serial,
  ),
  account(
    'requests',
    'requests',
    'Read requests, whole packets, travelling against the data; on a bus transactions that end in a ' +
      'Split Response.',
    all,
  ),
  account(
    'descriptors',
    'descriptors and interrupts',
    'Packets that steer the transfer: descriptor traffic and message-signalled interrupts.',
    serial,
  ),
  account(
    'acknowledgements',
    'acknowledgements',
    'Ack and Nak packets of the link layer, and the wait for them with a full replay buffer; in flits ' +
      'the data link bytes, credit updates included.',
    serial,
  ),
  account('credit_updates', 'credit updates', 'Flow control updates of the link layer.', serial),
  account(
    'credit_stall',
    'credit stall',
    'Idle because the receiver has granted no credit.',
    serial,
    true,
  ),
  account(
    'request_stall',
    'outstanding-request stall',
    'Idle because every allowed request is outstanding; on a bus while the data of a delayed or split ' +
      'read are fetched.',
    all,
    true,
  ),
  account(
    'source_gap',
    'source gap',
    'Idle because the engine pauses between packets, chunks or bursts.',
    [...all, ...stream],
    true,
  ),
  account(
    'setup',
    'per-transfer set-up',
    'Idle while the engine prepares its next transfer.',
    all,
    true,
  ),
  account(
    'translation',
    'address translation',
    'Idle because every miss of the address translation that can be served at once is being served.',
    serial,
    true,
  ),
  account(
    'arbitration',
    'arbitration',
    'Idle while a master that requests the bus may not start yet.',
    clocked,
    true,
  ),
  account(
    'turnaround',
    'turnaround',
    'Idle because the drivers of shared lines change: before the data of a read, after a transaction.',
    clocked,
    true,
  ),
  account(
    'wait_states',
    'wait states',
    'Idle within a transaction: until the target answers, and while either side is not ready.',
    [...clocked, ...stream],
    true,
  ),
  account(
    'retry',
    'retry and disconnect',
    'Transactions that end without data, and clocks in which the target stops one that carried some.',
    clocked,
  ),
  account(
    'power_exit',
    'power-state exit',
    'Idle while the link leaves a low-power state.',
    serial,
    true,
  ),
  account(
    'replay',
    'replay',
    'Packets sent in vain after a bit error and the wait until they are sent again.',
    serial,
  ),
  account('idle', 'idle', 'Nothing asked for the wire.', [...all, ...stream], true),
] as const satisfies readonly AccountDefinition[];

export type AccountId = (typeof accounts)[number]['id'];

/** Position of an account in the list: the index of charge vectors, and the order of precedence. */
export const accountIndex: Readonly<Record<AccountId, number>> = Object.fromEntries(
  accounts.map((a, i) => [a.id, i]),
) as Record<AccountId, number>;

export const accountCount = accounts.length;
