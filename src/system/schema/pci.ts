/** The keys of a parallel bus: a card's, a site's, a bridge's. */
import type { BridgeBus, BusArbiter, BusDevice, BusTarget, CardBus, SiteBus } from '../pci.ts';
import { cardModes, decodeWords, readCommands, segmentModes, writeCommands } from '../pci.ts';
import type { Collector } from '../text/problems.ts';
import { checkNames } from './check-streams.ts';
import { given, plain } from './leaf.ts';
import { choiceRule, nameRule, numberRule, quantityRule } from './rules.ts';
import { dataRate, flag, pause, powerSize, some } from './scalars.ts';
import {
  checked,
  fallback,
  list,
  mapped,
  object,
  optional,
  required,
  type Shape,
} from './shape.ts';

const width = given(numberRule([32, 64], 'a width in bits'));
const cardMode = given(choiceRule(cardModes, 'a mode of a card'));
const segmentMode = given(choiceRule(segmentModes, 'a mode of a segment'));
const decode = given(choiceRule(decodeWords, 'a DEVSEL# timing'));
const burst = given(
  quantityRule('size', 'a burst', { exact: true, whole: true, least: '4 B', most: '1 MiB' }),
);
const late = given(quantityRule('count', 'late clocks', { least: '0', most: '1000', whole: true }));
/** LOCAL 3.5.1.2: TRDY# of a later data phase within 8 clocks, so at most 7 late. */
const laterLate = given(
  quantityRule('count', 'late clocks', { least: '0', most: '7', whole: true }),
);
const timer = given(
  quantityRule('count', 'a Latency Timer', { least: '0', most: '255', whole: true }),
);
const clocks = given(quantityRule('count', 'clocks', { least: '1', most: '1000', whole: true }));
const piece = given(
  quantityRule('size', 'a size', { exact: true, whole: true, least: '8 B', power: true }),
);

const card: Shape<CardBus> = object<CardBus>({
  mode: required(cardMode, 'What it can do at most: its PCIXCAP and M66EN pins.'),
  width: required(width, 'Data lines it uses; 64 takes Pn3.'),
  burst: optional(burst, 'Longest burst it asks for.'),
  boundary: optional(piece, 'No transaction crosses a multiple of this.'),
  cache_line: optional(piece, 'Cache line, where Memory Write and Invalidate ends.'),
  write_command: optional(given(choiceRule(writeCommands, 'a write command')), 'PCI: its writes.'),
  read_command: optional(given(choiceRule(readCommands, 'a read command')), 'PCI: its reads.'),
  latency_timer: optional(timer, 'Latency Timer as the host leaves it, clocks.'),
  initial_wait: optional(laterLate, 'Late clocks of its first IRDY#; PCI.'),
  subsequent_wait: optional(laterLate, 'Late clocks of each later IRDY#; PCI.'),
  request_after: optional(clocks, 'Clocks from the end of a burst until REQ# comes again.'),
  overhead: optional(clocks, 'All clocks of a burst but those of its data, as measured or stated.'),
  keeps_request: optional(flag, 'Whether REQ# stays where more is to follow.'),
  fast_back_to_back: optional(flag, 'Whether its writes follow each other without an idle clock.'),
  retry_pause: optional(late, 'Clocks beyond the rule for which REQ# is off after STOP#.'),
  outstanding_splits: optional(some, 'Split reads outstanding; PCI-X.'),
  decode: optional(decode, 'As a target: DEVSEL# timing.'),
  target_latency: optional(late, 'As a target: late clocks of its first data.'),
  interrupts: optional(
    given(choiceRule(['wired', 'message', 'either'], 'a kind of interrupt')),
    'INTx lines, message-signalled, or either.',
  ),
});

/** A card's bus, looked over for contradictions. */
export const cardBus: Shape<CardBus> = checked(card, (value, out: Collector) => {
  const { overhead, request_after: after } = value;
  if (!overhead || !after) return;
  out.report('contradiction', overhead.place, {
    expected: "either 'overhead' or 'request_after': the one settles the other",
    got: 'both',
    next: 'keep the one that is known',
  });
});

const targetFields = {
  decode: optional(decode, 'DEVSEL# timing.'),
  write_latency: optional(late, 'Late clocks before the first data of a write.'),
  read_latency: optional(late, 'Late clocks before the first data of an immediate read.'),
  subsequent_wait: optional(laterLate, 'Late clocks of each later data phase; PCI.'),
  disconnect_at: optional(piece, 'Aligned piece at whose end it disconnects.'),
  reads: optional(
    given(choiceRule(['immediate', 'delayed', 'split'], 'a way of answering reads')),
    'Waits, retries until the data are there (PCI), or completes later (PCI-X).',
  ),
  read_delay: optional(
    pause,
    'From accepting a read to having its data; of a bridge its own part.',
  ),
  prefetch: optional(piece, 'Bytes it fetches for a read.'),
  outstanding_reads: optional(some, 'Reads it works on at once.'),
  posting_buffer: optional(powerSize, 'Room for posted writes.'),
};

/** The PCI side of a bridge. */
export const bridgeBus: Shape<BridgeBus> = object<BridgeBus>({
  ...targetFields,
  limit: optional(segmentMode, 'Fastest mode and clock of its PCI side.'),
});

const arbiter: Shape<BusArbiter> = object<BusArbiter>({
  rule: optional(
    given(choiceRule(['rotating', 'fixed', 'two levels'], 'a rule of arbitration')),
    'How it chooses among those that ask.',
  ),
  grant_clocks: optional(clocks, 'REQ# to GNT# on an idle bus.'),
  parking: optional(
    given(choiceRule(['last', 'owner', 'none'], 'a place where GNT# stays')),
    'Where GNT# stays while nobody asks.',
  ),
});

type WrittenDevice = Omit<BusDevice, 'place'>;
const writtenDevice: Shape<WrittenDevice> = object<WrittenDevice>({
  name: required(plain(nameRule('a device name')), 'Unique on the segment.'),
  mode: required(cardMode, 'What it can do at most.'),
  width: required(width, 'Data lines it uses.'),
  burst: optional(burst, 'Longest burst it asks for.'),
  latency_timer: optional(timer, 'Its Latency Timer, clocks.'),
  subsequent_wait: optional(laterLate, 'Late clocks of each later IRDY#; PCI.'),
  direction: optional(given(choiceRule(['to host', 'from host'], 'a direction')), 'Of its data.'),
  rate: optional(dataRate, 'What it moves; nothing when absent.'),
  priority: optional(
    given(choiceRule(['above the module', 'below the module'], 'a priority')),
    'Fixed priority: whether it goes first.',
  ),
  level: optional(given(numberRule([1, 2], 'a level')), 'Level of a two-level arbiter.'),
  shares_interrupt: optional(flag, "Whether it is on the module's INTx line."),
});
const device: Shape<BusDevice> = mapped(writtenDevice, (d, tree) => ({ ...d, place: tree.place }));

/** Most devices on a segment beside the module. */
const DEVICES_MAX = 15;

/** The bus of a site. */
export const siteBus: Shape<SiteBus> = object<SiteBus>({
  limit: required(segmentMode, 'Fastest mode and clock of the segment.'),
  width: required(width, 'Data lines wired.'),
  limit_when_shared: optional(segmentMode, 'Fastest once another card loads it.'),
  arbiter: optional(arbiter, 'Its arbiter.'),
  target: optional(object<BusTarget>(targetFields), 'What takes the data where no bridge does.'),
  early_end: optional(late, 'Clocks that an early end holds a PCI-X bus.'),
  devices: fallback(
    checked(list(device, DEVICES_MAX), (all, out) => checkNames(all, 'device', out)),
    () => [],
    'Others on the segment.',
  ),
  interrupt_response: optional(pause, 'From a wired interrupt to the first load of the device.'),
});
