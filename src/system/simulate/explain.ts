/**
 * Why closed form and simulation differ: for each stream and each account of each direction, a sentence.
 * A sentence is given when what it names is present and acts in the direction of the difference; the
 * bound of each is in docs/simulator.md.
 */
import { type AccountId, accountIndex, accounts } from '../../model/accounts.ts';
import type { HopLedger } from '../../model/answer.ts';
import { compare, toNumber } from '../../quantity/index.ts';
import type { Evaluation } from '../evaluate.ts';
import { ledgersOf } from '../ledgers.ts';
import { bytesPerSecond } from '../rate.ts';
import type { SimulationResult } from './run.ts';

export interface Explanation {
  /** By stream of the network, in order; empty where both rates are equal. */
  readonly streams: readonly (readonly string[])[];
  /** By hop and direction, in order: accounts whose shares differ. */
  readonly links: readonly (readonly AccountExplanation[])[];
}

export interface AccountExplanation {
  readonly account: AccountId;
  readonly stream?: string;
  readonly because: readonly string[];
}

/** Explains every difference between an evaluation and a simulation of the same corner. */
export function explainDifference(closed: Evaluation, simulated: SimulationResult): Explanation {
  const rates = bytesPerSecond(closed);
  const streams = rates.map((rate, s) => {
    const found = simulated.streams[s]!;
    if (compare(found.rate, rate) === 0) return [];
    const seconds = simulated.window.ticks * toNumber(simulated.tick);
    return whyStream(closed, simulated, s, found.bytes - toNumber(rate) * seconds);
  });
  const moved = streams.some((reasons) => reasons.length > 0);
  const links = ledgersOf(closed).map((ledger, i) =>
    whyLink(ledger, simulated.links[i]!, moved, simulated),
  );
  return { streams, links };
}

/** Packets that a stream may have more or less in a window that ends anywhere. */
const edgePackets = 3;

/** @param more bytes that arrived beyond what the closed form says */
function whyStream(
  closed: Evaluation,
  { settings }: SimulationResult,
  s: number,
  more: number,
): string[] {
  const flow = closed.flows[s]!;
  const longest = flow.kind === 'read' ? flow.requestBytes : (flow.writeBytes ?? 4096);
  const packet = Math.min(longest, flow.transferBytes);
  if (Math.abs(more) <= edgePackets * packet) {
    return [
      'The window cuts transfers: what is on its way at its ends is counted on one side only.',
    ];
  }
  const found = more > 0 ? whyFaster(closed, s) : whySlower(closed, s);
  if (settings.readDelay !== 'fixed' && flow.kind === 'read') {
    found.unshift('Reads take random times here; the closed form takes each at the mean.');
  }
  const random = closed.network.streams[s]!.crossings.some(
    ({ hop }) => closed.network.hops[hop]!.fabric.losses(closed.configs[hop]).length > 0,
  );
  if (random)
    found.unshift('Bit errors fall where chance puts them; the closed form takes their mean.');
  if (settings.arbitration === 'round robin' && closed.flows.length > 1) {
    found.unshift('Sources take turns packet by packet here; the closed form shares by need.');
  }
  if (found.length > 0) return found;
  return ['The window holds part of a slow pattern; a longer one brings both together.'];
}

/** Facts of a stream's limit that the sentences go by. */
function limitOf(closed: Evaluation, s: number) {
  const info = closed.resources.infos[closed.rates[s]!.stoppedBy]!;
  const { perTransfer, perChunk, perPacket } = closed.pauses[s]!;
  const flow = closed.flows[s]!;
  const { hop } = closed.network.streams[s]!.crossings[0]!;
  const { lost, fixed = false } = closed.network.hops[hop]!.fabric.compensation(
    closed.configs[hop],
  );
  return {
    info,
    flow,
    setup: perTransfer > 0,
    flits: fixed,
    uncovered: fixed ? perPacket === 0 : perPacket < lost,
    irregular: perTransfer > 0 || perChunk > 0 || flow.transfersPerInterrupt > 0,
    steers: flow.transfersPerInterrupt > 0 || flow.descriptors !== undefined,
  };
}

const withFlit =
  'Packets arrive with their flit here, each after a wait of its own; the closed form takes the mean.';

function whyFaster(closed: Evaluation, s: number): string[] {
  const { info, setup, uncovered, irregular, flow, flits } = limitOf(closed, s);
  const found: string[] = [];
  if (flits && (info.kind === 'window' || flow.kind === 'read')) found.push(withFlit);
  if (setup && (info.kind === 'window' || flow.kind === 'read')) {
    found.push(
      'Credits and answers come back while the engine prepares a transfer; the closed form adds the ' +
        'set-up to the time they take.',
    );
  }
  if (info.kind === 'engine' && uncovered && irregular) {
    found.push(
      'A longer pause covers more of a set of clock compensation than the closed form takes off.',
    );
  }
  if (closed.flows.length > 1) {
    found.push(
      'Another stream gets less than the closed form gives it, and leaves more of the wire.',
    );
  }
  return found;
}

function whySlower(closed: Evaluation, s: number): string[] {
  const { info, steers, uncovered, irregular, flow, flits } = limitOf(closed, s);
  const found: string[] = [];
  if (flits && (info.kind === 'window' || flow.kind === 'read')) found.push(withFlit);
  if (flits && irregular) {
    found.push('What follows a set-up waits for a multiple of 16 bytes of its flit.');
  }
  if (steers) {
    found.push(
      'Packets that steer the transfers come in bursts, and a set behind one delays the next.',
    );
  }
  if (flow.kind === 'read') {
    const beside = flits
      ? 'sets of clock compensation'
      : 'sets of clock compensation, Acks and credit updates';
    found.push(
      `A round trip waits for ${beside} on its way, and requests of different length share what may ` +
        'be outstanding.',
    );
  } else if (info.kind === 'window') {
    found.push(
      'Packets of different length, or the last of a window and the first of the next, share credits ' +
        'less evenly than on average; sets of clock compensation come between.',
    );
  } else if (info.kind === 'engine' && uncovered && irregular) {
    found.push('Sets of clock compensation fall behind packets that no pause follows.');
  }
  if (closed.flows.length > 1) {
    found.push('Packets wait for those of other streams; the closed form knows no waiting.');
  }
  if (found.length === 0 && closed.resources.fills.length > 1) {
    found.push('Two limits are close to each other: one binds at times, the other at others.');
  }
  return found;
}

/** Accounts that streams fill as they send. */
const driven: readonly AccountId[] = ['payload', 'headers', 'framing', 'line_code', 'requests'];

function whyLink(
  closed: HopLedger,
  simulated: HopLedger,
  moved: boolean,
  { window }: SimulationResult,
): AccountExplanation[] {
  const sides = [closed, simulated].map(({ ledger }) => {
    const rows = new Map<string, { account: AccountId; stream?: string; ticks: bigint }>();
    for (const { account, stream, ticks } of ledger) {
      rows.set(`${account} ${stream ?? ''}`, {
        account,
        ...(stream === undefined ? {} : { stream }),
        ticks: BigInt(ticks),
      });
    }
    return rows;
  });
  const [a, b] = [BigInt(closed.total), BigInt(simulated.total)];
  const found: AccountExplanation[] = [];
  for (const key of new Set(sides.flatMap((rows) => [...rows.keys()]))) {
    const [left, right] = sides.map((rows) => rows.get(key));
    if ((left?.ticks ?? 0n) * b === (right?.ticks ?? 0n) * a) continue;
    const { account, stream } = (left ?? right)!;
    found.push({
      account,
      ...(stream === undefined ? {} : { stream }),
      because: [whyAccount(account, moved, window.chosen)],
    });
  }
  return found.sort((x, y) => accountIndex[x.account] - accountIndex[y.account]);
}

function whyAccount(account: AccountId, moved: boolean, chosen: 'closed form' | 'stated'): string {
  if (accounts[accountIndex[account]]!.waiting) {
    return (
      'Each idle instant is charged here to the cause that arose first and still holds; the closed form ' +
      'charges pauses in full and what is left to the limit that stopped the streams.'
    );
  }
  switch (account) {
    case 'padding':
      return 'Lanes are filled here only where the wire then stands idle, and behind every packet that does.';
    case 'clock_compensation':
      return 'Whole sets are sent here, and one may wait for the end of a packet across the window.';
    case 'replay':
      return 'Errors fall where chance puts them here; the closed form takes their mean.';
    case 'acknowledgements':
    case 'credit_updates':
      return moved
        ? 'They follow the packets received, and the streams differ.'
        : 'They are sent whole here, for the packets received within the window.';
    default:
      if (moved && driven.includes(account))
        return 'The streams differ, and their packets with them.';
      return chosen === 'stated'
        ? 'The window cuts transfers, and with them the packets counted.'
        : 'Packets of the ends of the window are counted by the part that lies in it.';
  }
}
