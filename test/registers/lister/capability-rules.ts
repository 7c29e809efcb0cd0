/** Capabilities of the first 256 bytes as the utility shows them. */
import { type Fields, type Group, hex, ignore, type Rule, sign, signs, text } from './parse.ts';

export interface RuleSet {
  readonly title: readonly Rule[];
  readonly groups: readonly Group[];
}

const pmc = 'Power Management Capabilities';
const pmcsr = 'Power Management Control/Status';
const pme = ['D0', 'D1', 'D2', 'D3hot', 'D3cold'];

const power: RuleSet = {
  title: [
    text(/version \d/, (f) => `version ${f.value(`${pmc}/Version`)}`),
    ignore(/^Power Management/),
  ],
  groups: [
    {
      start: /^Flags:/,
      rules: [
        ...signs(pmc, {
          PMEClk: 'PME Clock',
          DSI: 'Device Specific Initialization',
        }),
        sign('D1', `${pmc}/D1_Support`),
        sign('D2', `${pmc}/D2_Support`),
        text(/AuxCurrent=\d+mA/, (f) => {
          const { meaning } = f.at(`${pmc}/Aux_Current`);
          return `AuxCurrent=${meaning.startsWith('none') ? '0mA' : meaning.replace(' ', '')}`;
        }),
        text(/PME\([^)]*\)/, (f) => {
          const v = f.value(`${pmc}/PME_Support`);
          return `PME(${pme.map((s, i) => `${s}${(v >> i) & 1 ? '+' : '-'}`).join(',')})`;
        }),
        ignore(/^Flags:/),
      ],
    },
    {
      start: /^Status:/,
      rules: [
        // The line is split by slashes in the register's name: read from the raw register.
        text(/D[0-3] /, (f) => `D${f.raw(pmcsr) & 3} `),
        ...(
          [
            ['NoSoftRst', 3],
            ['PME-Enable', 8],
            ['PME', 15],
          ] as const
        ).map(([word, bit]) =>
          text(
            new RegExp(`(?<![A-Za-z])${word}[+-]`),
            (f) => `${word}${(f.raw(pmcsr) >> bit) & 1 ? '+' : '-'}`,
          ),
        ),
        text(/DSel=\d+/, (f) => `DSel=${(f.raw(pmcsr) >> 9) & 15}`),
        text(/DScale=\d+/, (f) => `DScale=${(f.raw(pmcsr) >> 13) & 3}`),
        ignore(/^Status:/),
      ],
    },
    {
      start: /^Bridge:/,
      rules: [
        sign('PM', 'Bridge Support Extensions/Bus Power/Clock Control Enable'),
        text(/B3[+-]/, (f) => `B3${f.value('Bridge Support Extensions/B2_B3#') === 1 ? '-' : '+'}`),
        ignore(/^Bridge:/),
      ],
    },
  ],
};

const msi: RuleSet = {
  title: [
    sign('Enable', 'Message Control/MSI Enable'),
    text(/Count=\d+\/\d+/, (f) => {
      const log = (name: string) => 2 ** f.value(`Message Control/Multiple Message ${name}`);
      return `Count=${log('Enable')}/${log('Capable')}`;
    }),
    sign('Maskable', 'Message Control/Per-Vector Masking Capable'),
    sign('64bit', 'Message Control/64-bit Address Capable'),
    ignore(/^MSI:/),
  ],
  groups: [
    {
      start: /^Address:/,
      rules: [
        text(/Address: [0-9a-f]+/, (f) => {
          const wide = f.value('Message Control/64-bit Address Capable') === 1;
          const high = wide ? hex(f.raw('Message Upper Address'), 8) : '';
          return `Address: ${high}${hex((f.raw('Message Address') & 0xfffffffc) >>> 0, 8)}`;
        }),
        text(/Data: [0-9a-f]+/, (f) => `Data: ${hex(f.raw('Message Data'), 4)}`),
      ],
    },
    {
      start: /^Masking:/,
      rules: [
        text(/Masking: [0-9a-f]+/, (f) => `Masking: ${hex(f.raw('Mask Bits'), 8)}`),
        text(/Pending: [0-9a-f]+/, (f) => `Pending: ${hex(f.raw('Pending Bits'), 8)}`),
      ],
    },
  ],
};

const msiX: RuleSet = {
  title: [
    sign('Enable', 'Message Control/MSI-X Enable'),
    text(/Count=\d+/, (f) => `Count=${f.at('Message Control/Table Size').meaning.split(' ')[0]}`),
    sign('Masked', 'Message Control/Function Mask'),
    ignore(/^MSI-X:/),
  ],
  groups: (['Table', 'PBA'] as const).map((word) => ({
    start: word === 'Table' ? /^Vector table:/ : /^PBA:/,
    rules: [
      text(/BAR=\d offset=[0-9a-f]+/, (f: Fields) => {
        const raw = f.raw(`${word} Offset/${word} BIR`);
        return `BAR=${raw & 7} offset=${hex((raw & 0xfffffff8) >>> 0, 8)}`;
      }),
      ignore(word === 'Table' ? /^Vector table:/ : /^PBA:/),
    ],
  })),
};

const split = [1, 2, 3, 4, 8, 12, 16, 32];
const where = (register: string) =>
  text(/Dev=[0-9a-f]{2}:[0-9a-f]{2}\.\d/, (f: Fields) => {
    const raw = f.raw(register);
    return `Dev=${hex((raw >> 8) & 255, 2)}:${hex((raw >> 3) & 31, 2)}.${raw & 7}`;
  });
const lost = { SCD: 'Split Completion Discarded', USC: 'Unexpected Split Completion' };
const clocks = ['conv', '66MHz', '100MHz', '133MHz', '?4', '?5', '?6', '?7'];

const pciX: RuleSet = {
  title: [ignore(/^PCI-X (non-)?bridge device/)],
  groups: [
    {
      start: /^Command:/,
      rules: [
        sign('DPERE', 'PCI-X Command/Data Parity Error Recovery Enable'),
        sign('ERO', 'PCI-X Command/Enable Relaxed Ordering'),
        text(
          /RBC=\d+/,
          (f) => `RBC=${512 << f.value('PCI-X Command/Maximum Memory Read Byte Count')}`,
        ),
        text(
          /OST=\d+/,
          (f) => `OST=${f.at('PCI-X Command/Maximum Outstanding Split Transactions').meaning}`,
        ),
        ignore(/^Command:/),
      ],
    },
    {
      start: /^Secondary Status:/,
      rules: [
        ...signs('PCI-X Secondary Status', {
          '64bit': '64-bit Device',
          '133MHz': '133 MHz Capable',
          ...lost,
          SCO: 'Split Completion Overrun',
          SRD: 'Split Request Delayed',
        }),
        // The utility reads three bits of the four.
        text(/Freq=\S+/, (f) => {
          return `Freq=${clocks[f.value('PCI-X Secondary Status/Secondary Bus Mode and Frequency') & 7]}`;
        }),
        ignore(/^Secondary Status:/),
      ],
    },
    {
      start: /^Status:.*DC=/,
      rules: [
        where('PCI-X Status'),
        ...signs('PCI-X Status', {
          '64bit': '64-bit Device',
          '133MHz': '133 MHz Capable',
          ...lost,
          RSCEM: 'Received Split Completion Error Message',
          '266MHz': 'PCI-X 266 Capable',
          '533MHz': 'PCI-X 533 Capable',
        }),
        text(/DC=\S+/, (f) => `DC=${f.at('PCI-X Status/Device Complexity').meaning.split(' ')[0]}`),
        text(
          /DMMRBC=\d+/,
          (f) => `DMMRBC=${512 << f.value('PCI-X Status/Designed Maximum Memory Read Byte Count')}`,
        ),
        text(
          /DMOST=\d+/,
          (f) =>
            `DMOST=${split[f.value('PCI-X Status/Designed Maximum Outstanding Split Transactions')]}`,
        ),
        text(/DMCRS=\d+/, (f) => {
          // In units of 128 bytes, eight of them at least.
          const { meaning } = f.at('PCI-X Status/Designed Maximum Cumulative Read Size');
          return `DMCRS=${Number(meaning.split(' ')[0]) / 128}`;
        }),
        ignore(/^Status:/),
      ],
    },
    {
      start: /^Status:/,
      rules: [
        where('PCI-X Bridge Status'),
        ...signs('PCI-X Bridge Status', {
          '64bit': '64-bit Device',
          '133MHz': '133 MHz Capable',
          ...lost,
          SCO: 'Split Completion Overrun',
          SRD: 'Split Request Delayed',
        }),
        ignore(/^Status:/),
      ],
    },
    ...(['Upstream', 'Downstream'] as const).map((word) => ({
      start: new RegExp(`^${word}:`),
      rules: [
        text(/Capacity=\d+ CommitmentLimit=\d+/, (f: Fields) => {
          const raw = f.raw(`${word} Split Transaction Control`);
          return `Capacity=${raw & 0xffff} CommitmentLimit=${raw >>> 16}`;
        }),
        ignore(new RegExp(`^${word}:`)),
      ],
    })),
  ],
};

const whole = (word: string): RuleSet => ({
  title: [ignore(new RegExp(`^${word}.*$`))],
  groups: [],
});
const subsystem: RuleSet = {
  title: [
    text(/^Subsystem: \S+/, (f) => {
      return `Subsystem: ${hex(f.raw('Subsystem Vendor ID'), 4)}:${hex(f.raw('Subsystem ID'), 4)}`;
    }),
  ],
  groups: [],
};
const slot: RuleSet = {
  title: [
    text(
      /Slot ID: \d+ slots/,
      (f) => `Slot ID: ${f.value('Expansion Slot/Expansion Slots Provided')} slots`,
    ),
    sign('First', 'Expansion Slot/First in Chassis'),
    text(/chassis [0-9a-f]{2}/, (f) => `chassis ${hex(f.raw('Chassis Number'), 2)}`),
  ],
  groups: [],
};
const vendor: RuleSet = {
  title: [
    text(/Len=[0-9a-f]+/, (f) => `Len=${hex(f.raw('Capability Length'), 2)}`),
    ignore(/^Vendor Specific Information: /),
    ignore(/<\?>|Intel.*|.*$/),
  ],
  groups: [{ start: /./, rules: [ignore(/^.*$/)] }],
};
const debug: RuleSet = {
  title: [
    text(/BAR=\d offset=[0-9a-f]+/, (f) => {
      const raw = f.raw('Debug Port');
      return `BAR=${raw >> 13} offset=${hex(raw & 0x1fff, 4)}`;
    }),
    ignore(/^Debug port:/),
  ],
  groups: [],
};
const advanced: RuleSet = {
  title: [ignore(/^PCI Advanced Features/)],
  groups: [
    {
      start: /^AFCap:/,
      rules: [
        sign('TP', 'AF Capabilities/Transactions Pending Capability'),
        sign('FLR', 'AF Capabilities/Function Level Reset Capability'),
        ignore(/^AFCap:/),
      ],
    },
    {
      start: /^AFCtrl:/,
      rules: [sign('FLR', 'AF Control/Initiate Function Level Reset'), ignore(/^AFCtrl:/)],
    },
    {
      start: /^AFStatus:/,
      rules: [sign('TP', 'AF Status/Transactions Pending'), ignore(/^AFStatus:/)],
    },
  ],
};
const allocation: RuleSet = {
  title: [
    text(/NumEntries=\d+/, (f) => `NumEntries=${f.value('Num Entries')}`),
    ignore(/^Enhanced Allocation \(EA\):/),
    text(/secondary=\d+, subordinate=\d+/, (f) => {
      const [a, b] = [f.raw('Fixed Secondary Bus Number'), f.raw('Fixed Subordinate Bus Number')];
      return `secondary=${a}, subordinate=${b}`;
    }),
  ],
  groups: [
    {
      start: /^Entry (\d+):/,
      instance: (m) => `Entry ${m[1]}`,
      rules: [
        sign('Enable', 'Entry/Enable'),
        sign('Writable', 'Entry/Writable'),
        text(/EntrySize=\d+/, (f) => `EntrySize=${f.value('Entry/Entry Size')}`),
        text(/ Base: [0-9a-f]+/, (f) => {
          const low = f.raw('Base');
          const high = low & 2 ? f.raw('Base, upper 32 bits') : 0;
          return ` Base: ${high ? hex(high, 1) : ''}${hex((low & 0xfffffffc) >>> 0, high ? 8 : 1)}`;
        }),
        text(/MaxOffset: [0-9a-f]+/, (f) => {
          const low = f.raw('MaxOffset');
          const high = low & 2 ? f.raw('MaxOffset, upper 32 bits') : 0;
          return `MaxOffset: ${high ? hex(high, 1) : ''}${hex((low | 3) >>> 0, 8)}`;
        }),
        ignore(/BAR Equivalent Indicator: .*?(?= PrimaryProperties)/),
        ignore(/PrimaryProperties: .*?(?= SecondaryProperties|\s*$)/),
        ignore(/SecondaryProperties: .*$/),
        ignore(/^Entry \d+:/),
      ],
    },
    { start: /^BAR Equivalent/, rules: [ignore(/.*/)] },
  ],
};

/** By Capability ID. */
export const capabilityRules: ReadonlyMap<number, RuleSet> = new Map([
  [0x01, power],
  [
    0x03,
    { title: [ignore(/^Vital Product Data/)], groups: [{ start: /./, rules: [ignore(/^.*$/)] }] },
  ],
  [0x04, slot],
  [0x05, msi],
  [0x07, pciX],
  [0x09, vendor],
  [0x0a, debug],
  [0x0d, subsystem],
  [0x11, msiX],
  [0x13, advanced],
  [0x14, allocation],
  [
    0x08,
    { title: [ignore(/^HyperTransport.*$/)], groups: [{ start: /./, rules: [ignore(/^.*$/)] }] },
  ],
  [0x02, { title: [ignore(/^AGP.*$/)], groups: [{ start: /./, rules: [ignore(/^.*$/)] }] }],
  [0x06, whole('CompactPCI hot-swap')],
  [0x0c, whole('Hot-plug capable')],
  [0x0e, whole('AGP3')],
  [0x12, { title: [ignore(/^SATA HBA.*$/)], groups: [{ start: /./, rules: [ignore(/^.*$/)] }] }],
]);
