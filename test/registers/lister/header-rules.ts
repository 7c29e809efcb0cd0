/** Headers as the utility shows them. */
import type { DecodedFunction } from '../../../src/model/dump.ts';
import { type Fields, type Group, hex, ignore, type Rule, signs, text } from './parse.ts';

const devsel = ['fast', 'medium', 'slow', '??'];

function statusRules(register: string, own: string, name: string): Rule[] {
  return [
    ...signs(register, {
      '66MHz': '66 MHz Capable',
      UDF: 'UDF Supported',
      FastB2B: 'Fast Back-to-Back Transactions Capable',
      ParErr: 'Master Data Parity Error',
      '>TAbort': 'Signaled Target Abort',
      '<TAbort': 'Received Target Abort',
      '<MAbort': 'Received Master Abort',
      [own]: name,
      '<PERR': 'Detected Parity Error',
    }),
    text(/DEVSEL=[a-z?]+/, (f) => `DEVSEL=${devsel[f.value(`${register}/DEVSEL Timing`)]}`),
  ];
}

/** A base address as the utility words it, from its registers. */
function region(
  f: Fields,
  index: number,
  enabled: { io: boolean; memory: boolean },
  asShown: string,
): string {
  const raw = f.raw('Base Address Register', `BAR ${index}`);
  // The utility shows the upper half of a 64-bit register once more, as one without an address.
  const row = f.structure.registers.find((r) => r.instance === `BAR ${index}`);
  if (row?.fields[0]?.name === 'Base Address, upper 32 bits') return asShown;
  if (raw & 1) {
    const address = (raw & 0xfffffffc) >>> 0;
    const zero = asShown.includes('0000') ? '0000' : '<unassigned>';
    const shown = address === 0 ? zero : hex(address, 4);
    return `Region ${index}: I/O ports at ${shown}${enabled.io ? '' : ' [disabled]'}`;
  }
  const wide = (raw & 6) === 4;
  const high = wide ? f.raw('Base Address Register', `BAR ${index + 1}`) : 0;
  const low = (raw & 0xfffffff0) >>> 0;
  const address = high === 0 ? hex(low, 8) : `${hex(high, 1)}${hex(low, 8)}`;
  const shown = low === 0 && high === 0 ? '<unassigned>' : address;
  const type = ['32-bit', 'low-1M', '64-bit', 'type 3'][(raw >> 1) & 3];
  const rest = `(${type}, ${raw & 8 ? '' : 'non-'}prefetchable)`;
  return `Region ${index}: Memory at ${shown} ${rest}${enabled.memory ? '' : ' [disabled]'}`;
}

const command = (f: Fields) => {
  const raw = f.raw('Command');
  return { io: (raw & 1) !== 0, memory: (raw & 2) !== 0 };
};

/** One of the windows, as the decoder puts it together. */
function windowText(fn: DecodedFunction, name: string, shown: string): string {
  const range = fn.windows?.find((w) => w.name === name)?.range;
  const [, from = '', to = ''] = /^.*: ([0-9a-f]+)-([0-9a-f]+)/.exec(shown) ?? [];
  if (range === undefined) return shown.includes('[disabled]') ? shown : `${name} closed`;
  if (shown.includes('[disabled]')) return `${name} ${range.join('-')}`;
  const digits = (text: string) => BigInt(`0x${text}`).toString(16);
  const same =
    `0x${digits(from)}` === range[0].toLowerCase() && `0x${digits(to)}` === range[1].toLowerCase();
  return same ? shown : `${name} ${range.join('-')}`;
}

const byte = (f: Fields, register: string) => hex(f.raw(register), 2);

/** Groups of lines of a header; closed over the function for what is put together from registers. */
export function headerGroups(fn: DecodedFunction): Group[] {
  const timer = ['Latency Timer', 'Primary Latency Timer', 'Latency Timer'];
  const type = fn.structures[0]!.id;
  return [
    {
      start: /^Control:/,
      rules: [
        ...signs('Command', {
          'I/O': 'I/O Space Enable',
          Mem: 'Memory Space Enable',
          BusMaster: 'Bus Master Enable',
          SpecCycle: 'Special Cycle Enable',
          MemWINV: 'Memory Write and Invalidate',
          VGASnoop: 'VGA Palette Snoop',
          ParErr: 'Parity Error Response',
          Stepping: 'IDSEL Stepping/Wait Cycle Control',
          SERR: 'SERR# Enable',
          FastB2B: 'Fast Back-to-Back Transactions Enable',
          DisINTx: 'Interrupt Disable',
        }),
        ignore(/^Control:/),
      ],
    },
    {
      start: /^Status:/,
      rules: [
        ...statusRules('Status', '>SERR', 'Signaled System Error'),
        ...signs('Status', { Cap: 'Capabilities List', INTx: 'Interrupt Status' }),
        ignore(/^Status:/),
      ],
    },
    {
      start: /^Subsystem:/,
      rules: [
        text(/Subsystem: \S+/, () => `Subsystem: ${fn.subsystem?.vendor}:${fn.subsystem?.device}`),
      ],
    },
    {
      start: /^Latency:|^Cache Line/,
      rules: [
        text(/Latency: \d+/, (f) => `Latency: ${f.raw(timer[type]!)}`),
        text(/\d+ns min/, (f) => `${f.raw('Min_Gnt') * 250}ns min`),
        text(/\d+ns max/, (f) => `${f.raw('Max_Lat') * 250}ns max`),
        text(
          /Cache Line Size: \d+ bytes/,
          (f) => `Cache Line Size: ${f.raw('Cache Line Size') * 4} bytes`,
        ),
      ],
    },
    {
      start: /^Interrupt:/,
      rules: [
        text(/pin (.) routed/s, (f) => {
          const pin = f.raw('Interrupt Pin');
          return `pin ${pin === 0 ? '?' : String.fromCharCode((0x40 + pin) & 0xff)} routed`;
        }),
        text(/to IRQ \d+/, (f) => `to IRQ ${f.raw('Interrupt Line')}`),
        ignore(/^Interrupt: pin/),
        // An unknown pin comes out as a character, at times one that ends a line.
        ignore(/^.*$/),
      ],
    },
    {
      start: /^Region \d+:/,
      rules: [text(/^Region (\d+):.*$/, (f, m) => region(f, Number(m[1]), command(f), m[0]))],
    },
    {
      start: /^Expansion ROM at/,
      rules: [
        text(/^Expansion ROM at.*$/, (f) => {
          const raw = f.raw('Expansion ROM Base Address');
          const address = (raw & 0xfffff800) >>> 0;
          const shown = address === 0 ? '<unassigned>' : hex(address, 8);
          const off = raw & 1 ? (command(f).memory ? '' : ' [disabled by cmd]') : ' [disabled]';
          return `Expansion ROM at ${shown}${off}`;
        }),
      ],
    },
    {
      start: /^BIST/,
      rules: [
        text(
          /BIST result: [0-9a-f]+/,
          (f) => `BIST result: ${hex(f.value('BIST/Completion Code'), 2)}`,
        ),
        text(/BIST is running/, (f) =>
          f.value('BIST/Start BIST') === 1 ? 'BIST is running' : 'not',
        ),
      ],
    },
    {
      start: /^Bus:/,
      rules: [
        text(
          /primary=\S+?,/,
          (f) => `primary=${byte(f, type === 1 ? 'Primary Bus Number' : 'PCI Bus Number')},`,
        ),
        text(
          /secondary=\S+?,/,
          (f) =>
            `secondary=${byte(f, type === 1 ? 'Secondary Bus Number' : 'CardBus Bus Number')},`,
        ),
        text(/subordinate=\S+?,/, (f) => `subordinate=${byte(f, 'Subordinate Bus Number')},`),
        text(
          /sec-latency=\d+/,
          (f) =>
            `sec-latency=${f.raw(type === 1 ? 'Secondary Latency Timer' : 'CardBus Latency Timer')}`,
        ),
        ignore(/^Bus:/),
      ],
    },
    { start: /^I\/O behind bridge:/, rules: [text(/^.*$/, (_, m) => windowText(fn, 'I/O', m[0]))] },
    {
      start: /^Memory behind bridge:/,
      rules: [text(/^.*$/, (_, m) => windowText(fn, 'memory', m[0]))],
    },
    {
      start: /^Prefetchable memory behind/,
      rules: [text(/^.*$/, (_, m) => windowText(fn, 'prefetchable memory', m[0]))],
    },
    // Windows whose two ends are of different kinds: the utility shows the raw numbers.
    {
      start: /^!!! Unknown I\/O range types/,
      rules: [
        text(
          /types \S+/,
          (f) => `types ${f.raw('I/O Base').toString(16)}/${f.raw('I/O Limit').toString(16)}`,
        ),
        ignore(/^!!! Unknown I\/O range/),
      ],
    },
    {
      start: /^!!! Unknown memory range types/,
      rules: [
        text(
          /types \S+/,
          (f) => `types ${f.raw('Memory Base').toString(16)}/${f.raw('Memory Limit').toString(16)}`,
        ),
        ignore(/^!!! Unknown memory range/),
      ],
    },
    {
      start: /^!!! Unknown prefetchable/,
      rules: [
        text(
          /types \S+/,
          (f) =>
            `types ${f.raw('Prefetchable Memory Base').toString(16)}/${f.raw('Prefetchable Memory Limit').toString(16)}`,
        ),
        ignore(/^!!! Unknown prefetchable memory range/),
      ],
    },
    {
      start: /^Secondary status:/,
      rules: [
        ...statusRules('Secondary Status', '<SERR', 'Received System Error'),
        ignore(/^Secondary status:/),
      ],
    },
    {
      start: /^BridgeCtl:/,
      rules: [
        ...signs('Bridge Control', {
          Parity: 'Parity Error Response Enable',
          SERR: 'SERR# Enable',
          NoISA: 'ISA Enable',
          VGA: 'VGA Enable',
          VGA16: 'VGA 16-bit Decode',
          MAbort: 'Master Abort Mode',
          '>Reset': 'Secondary Bus Reset',
          FastB2B: 'Fast Back-to-Back Transactions Enable',
          PriDiscTmr: 'Primary Discard Timer',
          SecDiscTmr: 'Secondary Discard Timer',
          DiscTmrStat: 'Discard Timer Status',
          DiscTmrSERREn: 'Discard Timer SERR# Enable',
        }),
        ignore(/^BridgeCtl:/),
      ],
    },
  ];
}
