/**
 * Streams as programs: the packets that each requester sends, one by one, by number of their kind, and
 * what to do at each. The same for all hops; a hop only knows how long each kind takes it.
 */
import type { EventRules, PlannedPacket } from '../../links/events.ts';
import type { Flow } from '../../links/fabric.ts';
import type { EnginePauses } from '../network.ts';

/** What a packet means to the two ends of its way. */
export type KindRole = PlannedPacket['role'] | 'answer' | 'fetched';

/** A kind of packet: what it is, whose, and what is answered. */
export interface Kind {
  readonly stream: number;
  readonly role: KindRole;
  /** Payload bytes carried or asked for. */
  readonly bytes: number;
  readonly described: unknown;
  /** Kinds of its answers in order. */
  readonly answers: Int32Array;
  readonly key: string;
}

/** What happens at a step besides sending: bits. */
export const step = { data: 1, request: 2, endsChunk: 4, endsData: 8, endsTransfer: 16 } as const;

export interface Program {
  readonly kinds: Int32Array;
  readonly flags: Int32Array;
  /** Packets of data in one transfer. */
  readonly dataPackets: number;
}

/** Most packets of one program: a transfer of 512 MiB in packets of 128 B. */
const longest = 2 ** 22;

/** Collects kinds of packets; alike ones have one number. */
export class Kinds {
  readonly list: Kind[] = [];
  readonly #numbers = new Map<string, number>();

  number(kind: Omit<Kind, 'key'>): number {
    const { stream, role, bytes, described, answers } = kind;
    const key = `${stream} ${role} ${bytes} ${JSON.stringify(described)} ${answers.join()}`;
    const known = this.#numbers.get(key);
    if (known !== undefined) return known;
    this.#numbers.set(key, this.list.length);
    return this.list.push({ ...kind, key }) - 1;
  }
}

const noAnswers = new Int32Array(0);

/**
 * The program of a stream, cut to the shortest one that repeats as it does.
 *
 * @param marked whether the ends of transfers matter: there is a set-up, or a rate counted by transfers
 * @throws RangeError for a transfer of more packets than a program holds
 */
export function programOf<Config>(
  rules: EventRules<Config>,
  flow: Flow,
  config: Config,
  stream: number,
  pauses: EnginePauses,
  marked: boolean,
  kinds: Kinds,
): Program {
  const sent: number[] = [];
  const flags: number[] = [];
  let dataPackets = 0;
  let counting = true;
  for (const planned of rules.plan(flow, config)) {
    if (sent.length === longest) {
      throw new RangeError(
        `${flow.stream}: a transfer of ${flow.transferBytes} B takes more than ${longest} packets; ` +
          'simulate a smaller one',
      );
    }
    sent.push(numberOf(planned, stream, kinds));
    flags.push(flagsOf(planned, pauses, marked));
    if (counting && isData(planned)) dataPackets++;
    if (planned.endsTransfer) counting = false;
  }
  const period = shortestPeriod(sent, flags);
  return {
    kinds: Int32Array.from(sent.slice(0, period)),
    flags: Int32Array.from(flags.slice(0, period)),
    dataPackets,
  };
}

function isData({ role }: PlannedPacket): boolean {
  return role === 'data' || role === 'request';
}

function numberOf(planned: PlannedPacket, stream: number, kinds: Kinds): number {
  const { role, bytes, described, answers } = planned;
  const answered = answers.map((answer) =>
    kinds.number({
      stream,
      role: role === 'fetch' ? 'fetched' : 'answer',
      bytes: answer.bytes,
      described: answer.described,
      answers: noAnswers,
    }),
  );
  return kinds.number({ stream, role, bytes, described, answers: Int32Array.from(answered) });
}

/** Only what makes a difference is marked, so that alike packets look alike. */
function flagsOf(planned: PlannedPacket, { perChunk }: EnginePauses, marked: boolean): number {
  let flags = 0;
  if (isData(planned)) flags |= step.data;
  if (planned.role === 'request') flags |= step.request;
  if (planned.endsChunk && perChunk > 0) flags |= step.endsChunk;
  if (planned.endsData && marked) flags |= step.endsData;
  if (planned.endsTransfer && marked) flags |= step.endsTransfer;
  return flags;
}

/** Length of the shortest sequence that the whole is made of (Knuth, Morris and Pratt, 1977). */
function shortestPeriod(kinds: readonly number[], flags: readonly number[]): number {
  const same = (i: number, j: number) => kinds[i] === kinds[j] && flags[i] === flags[j];
  const { length } = kinds;
  const border = new Int32Array(length);
  for (let i = 1, k = 0; i < length; i++) {
    while (k > 0 && !same(i, k)) k = border[k - 1]!;
    if (same(i, k)) k++;
    border[i] = k;
  }
  const period = length - border[length - 1]!;
  return length % period === 0 ? period : length;
}
