/** What the receiving end of a PCI Express link grants, as parameters: credits and their return. */
import type { Credits, Receiver } from '../links/pcie/index.ts';
import type { Rational } from '../quantity/index.ts';
import { creditsMost } from '../standards/pcie-link.ts';
import type { ParameterReader } from './given-range.ts';
import type { HopRequest, Port } from './hop.ts';
import type { Corner } from './parameters.ts';
import type { ChannelCredits } from './parts.ts';

/** What the parameters of a receiver depend on. */
export interface ReceiverContext {
  readonly maxPayload: number;
  readonly tick: Rational;
  /** Flits carry acknowledgements and updates in their own bytes: nothing to know of them. */
  readonly flits: boolean;
  /** Without scaled flow control at both ends large counts cannot be told to the transmitter. */
  readonly scaled: boolean;
  readonly channels: readonly number[];
}

/** Reads the parameters of one receiving end and returns how to make it at a corner. */
export function receiverOf(
  reader: ParameterReader,
  port: Port,
  context: ReceiverContext,
): (corner: Corner) => Receiver {
  const { owner, pcie } = port;
  const main = creditsOf(reader, owner, pcie, port.forwards === true, context);
  const channels = context.channels.map((channel) => {
    const given = pcie?.virtual_channels?.[String(channel)];
    const name = `${owner} virtual channel ${channel}`;
    return { channel, at: creditsOf(reader, name, given, port.forwards === true, context) };
  });
  const lowers = { owner, id: 'credit_return', effect: 'lowers' } as const;
  const back = reader.time(lowers, pcie?.credit_return, context.tick);
  const packets = context.flits ? undefined : packetsPer(reader, port);
  return (corner) => {
    const more = channels.map(({ channel, at }): [number, Credits] => [channel, at(corner)]);
    return {
      creditReturnTicks: corner[back]!,
      packetsPerAck: packets ? corner[packets.ack]! : 1,
      packetsPerUpdate: packets ? corner[packets.update]! : 1,
      ...main(corner),
      ...(more.length === 0 ? {} : { channels: Object.fromEntries(more) }),
    };
  };
}

function packetsPer(reader: ParameterReader, { owner, pcie }: Port) {
  const raises = (id: 'packets_per_ack' | 'packets_per_update') =>
    ({ owner, id, effect: 'raises' }) as const;
  return {
    ack: reader.whole(raises('packets_per_ack'), pcie?.packets_per_ack),
    update: reader.whole(raises('packets_per_update'), pcie?.packets_per_update),
  };
}

/** Credits of one channel; those for completions only where the port passes them on. */
function creditsOf(
  reader: ParameterReader,
  owner: string,
  given: ChannelCredits | undefined,
  forwards: boolean,
  { maxPayload, scaled }: ReceiverContext,
): (corner: Corner) => Credits {
  const most = creditsMost[scaled ? 'scaled' : 'unscaled'];
  const headers = { low: 1, expected: most.headers, high: most.headers };
  const units = { low: maxPayload / 16, expected: most.data, high: most.data };
  const role = (id: CreditRole) => ({ owner, id, effect: 'raises' }) as const;
  const posted = reader.whole(role('posted_header_credits'), given?.posted_header_credits, headers);
  const data = reader.whole(role('posted_data_credits'), given?.posted_data_credits, units);
  const asked = reader.whole(
    role('nonposted_header_credits'),
    given?.nonposted_header_credits,
    headers,
  );
  const completions = forwards
    ? {
        headers: reader.whole(role('completion_header_credits'), undefined, headers),
        data: reader.whole(role('completion_data_credits'), undefined, units),
      }
    : undefined;
  return (corner) => ({
    postedHeaders: corner[posted]!,
    postedData: corner[data]!,
    nonpostedHeaders: corner[asked]!,
    ...(completions
      ? {
          completionHeaders: corner[completions.headers]!,
          completionData: corner[completions.data]!,
        }
      : {}),
  });
}

type CreditRole =
  | 'posted_header_credits'
  | 'posted_data_credits'
  | 'nonposted_header_credits'
  | 'completion_header_credits'
  | 'completion_data_credits';

/** Virtual channels besides 0 that a stream uses or a port of the link describes. */
export function channelsOf({ lower, upper, channels = [] }: HopRequest): number[] {
  const described = [lower, upper].flatMap(({ pcie }) => Object.keys(pcie?.virtual_channels ?? {}));
  const all = new Set([...channels, ...described.map(Number)].filter((channel) => channel > 0));
  return [...all].sort((a, b) => a - b);
}
