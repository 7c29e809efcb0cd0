/** Extended capabilities as the utility shows them. Those not here it shows by name only. */
import type { RuleSet } from './capability-rules.ts';
import { type Fields, type Group, hex, ignore, type Rule, sign, signs, text } from './parse.ts';

const anything: Group = { start: /./, rules: [ignore(/^.*$/)] };
const titled = (groups: readonly Group[]): RuleSet => ({ title: [ignore(/^.*$/)], groups });
/** One line that begins with `word:`. */
const line = (word: string, rules: readonly Rule[]): Group => {
  const start = new RegExp(`^${word}:`);
  return { start, rules: [...rules, ignore(start)] };
};
const h = (word: string, register: string, digits: number, sep = ': ') =>
  text(new RegExp(`${word}${sep}[0-9a-f]+`), (f) => `${word}${sep}${hex(f.raw(register), digits)}`);
const n = (pattern: RegExp, before: string, path: string, plus = 0) =>
  text(pattern, (f) => `${before}${f.value(path) + plus}`);

const uncorrectable = {
  DLP: 'Data Link Protocol Error',
  SDES: 'Surprise Down Error',
  TLP: 'Poisoned TLP Received',
  FCP: 'Flow Control Protocol Error',
  CmpltTO: 'Completion Timeout',
  CmpltAbrt: 'Completer Abort',
  UnxCmplt: 'Unexpected Completion',
  RxOF: 'Receiver Overflow',
  MalfTLP: 'Malformed TLP',
  ECRC: 'ECRC Error',
  UnsupReq: 'Unsupported Request Error',
  ACSViol: 'ACS Violation',
};
const correctable = {
  RxErr: 'Receiver Error',
  BadTLP: 'Bad TLP',
  BadDLLP: 'Bad DLLP',
  Rollover: 'REPLAY_NUM Rollover',
  Timeout: 'Replay Timer Timeout',
  AdvNonFatalErr: 'Advisory Non-Fatal Error',
};
const ended = (list: Readonly<Record<string, string>>, word: string) =>
  Object.fromEntries(Object.entries(list).map(([k, v]) => [k, `${v} ${word}`]));
const control = 'Advanced Error Capabilities and Control';

const aer = titled([
  line('UESta', signs('Uncorrectable Error Status', ended(uncorrectable, 'Status'))),
  line('UEMsk', signs('Uncorrectable Error Mask', ended(uncorrectable, 'Mask'))),
  line('UESvrt', signs('Uncorrectable Error Severity', ended(uncorrectable, 'Severity'))),
  line('CESta', signs('Correctable Error Status', ended(correctable, 'Status'))),
  line('CEMsk', signs('Correctable Error Mask', ended(correctable, 'Mask'))),
  line('AERCap', [
    text(/First Error Pointer: [0-9a-f]+/, (f) => {
      return `First Error Pointer: ${hex(f.value(`${control}/First Error Pointer`), 2)}`;
    }),
    ...signs(control, {
      ECRCGenCap: 'ECRC Generation Capable',
      ECRCGenEn: 'ECRC Generation Enable',
      ECRCChkCap: 'ECRC Check Capable',
      ECRCChkEn: 'ECRC Check Enable',
      MultHdrRecCap: 'Multiple Header Recording Capable',
      MultHdrRecEn: 'Multiple Header Recording Enable',
      TLPPfxPres: 'TLP Prefix Log Present',
    }),
    text(/HdrLogCap[+-]/, (f) => `HdrLogCap${(f.raw(control) >> 12) & 1 ? '+' : '-'}`),
  ]),
  line('HeaderLog', [
    text(/([0-9a-f]{8} ){3}[0-9a-f]{8}/, (f) => {
      return [1, 2, 3, 4].map((i) => hex(f.raw(`Header Log, DW ${i}`), 8)).join(' ');
    }),
  ]),
  line(
    'RootCmd',
    signs('Root Error Command', {
      CERptEn: 'Correctable Error Reporting Enable',
      NFERptEn: 'Non-Fatal Error Reporting Enable',
      FERptEn: 'Fatal Error Reporting Enable',
    }),
  ),
  line('RootSta', [
    ...(
      [
        ['CERcvd', 0],
        ['MultCERcvd', 1],
        ['UERcvd', 2],
        ['MultUERcvd', 3],
      ] as const
    ).map(([word, bit]) =>
      text(new RegExp(`(?<![A-Za-z])${word}[+-]`), (f) => {
        const { fields } = f.structure.registers.find((r) => r.name === 'Root Error Status')!;
        return `${word}${fields.find((one) => one.bits === `${bit}`)!.value ? '+' : '-'}`;
      }),
    ),
    ...signs('Root Error Status', {
      FirstFatal: 'First Uncorrectable Fatal',
      NonFatalMsg: 'Non-Fatal Error Messages Received',
      FatalMsg: 'Fatal Error Messages Received',
    }),
    n(/IntMsg \d+/, 'IntMsg ', 'Root Error Status/Advanced Error Interrupt Message Number'),
  ]),
  line('ErrorSrc', [
    text(/ERR_COR: [0-9a-f]+ ERR_FATAL\/NONFATAL: [0-9a-f]+/, (f) => {
      const raw = f.raw('Error Source Identification');
      return `ERR_COR: ${hex(raw & 0xffff, 4)} ERR_FATAL/NONFATAL: ${hex(raw >>> 16, 4)}`;
    }),
  ]),
]);

const schemes = ['Fixed', 'WRR32', 'WRR64', 'WRR128'];
const portSchemes = [...schemes, 'TWRR128', 'WRR256'];
/** Named bits always, others only when set. */
function arbitration(v: number, names: readonly string[]): string {
  const shown = names.map((name, i) => `${name}${(v >> i) & 1 ? '+' : '-'}`);
  for (let i = names.length; i < 8; i += 1) if ((v >> i) & 1) shown.push(`??${i}+`);
  return `Arb: ${shown.join(' ')}`;
}
const arb = (register: string, names: readonly string[]) =>
  text(/Arb:\s+([A-Za-z0-9?]+[+-] ?)+/, (f, m) => {
    const wanted = arbitration(f.raw(register) & 255, names);
    return m[0].replaceAll('\t', ' ').trim() === wanted ? m[0] : wanted;
  });

const channel = titled([
  {
    start: /^VC(\d):/,
    instance: (m) => `VC Resource ${m[1]}`,
    rules: [
      text(/PATOffset=[0-9a-f]+ MaxTimeSlots=\d+/, (f) => {
        const raw = f.raw('VC Resource Capability');
        const slots = f.at('VC Resource Capability/Maximum Time Slots').meaning.trim();
        return `PATOffset=${hex(raw >>> 24, 2)} MaxTimeSlots=${slots}`;
      }),
      sign('RejSnoopTrans', 'VC Resource Capability/Reject Snoop Transactions'),
      arb('VC Resource Capability', portSchemes),
      text(/Enable[+-] ID=\d ArbSelect=\S+/, (f) => {
        const raw = f.raw('VC Resource Control');
        const select = (raw >>> 17) & 7;
        const on = raw >>> 31 ? '+' : '-';
        return `Enable${on} ID=${(raw >>> 24) & 7} ArbSelect=${portSchemes[select] ?? `??${select}`}`;
      }),
      text(/TC\/VC=[0-9a-f]{2}/, (f) => `TC/VC=${hex(f.raw('VC Resource Control') & 255, 2)}`),
      sign('NegoPending', 'VC Resource Status/VC Negotiation Pending'),
      sign('InProgress', 'VC Resource Status/Port Arbitration Table Status'),
      ignore(/Port Arbitration Table.*$/),
      ignore(/^VC\d:\s+Caps:/),
      ignore(/Ctrl:/),
      ignore(/Status:/),
    ],
  },
  {
    start: /^Caps:/,
    rules: [
      n(/LPEVC=\d/, 'LPEVC=', 'Port VC Capability 1/Low Priority Extended VC Count'),
      text(/RefClk=\S+/, (f) => {
        const v = f.value('Port VC Capability 1/Reference Clock');
        return `RefClk=${v === 0 ? '100ns' : `??${v}`}`;
      }),
      text(/PATEntryBits=\d/, (f) => {
        return `PATEntryBits=${1 << f.value('Port VC Capability 1/Port Arbitration Table Entry Size')}`;
      }),
      arb('Port VC Capability 2', schemes),
      text(/ArbSelect=\S+/, (f) => {
        const v = f.value('Port VC Control/VC Arbitration Select');
        return `ArbSelect=${schemes[v] ?? `??${v}`}`;
      }),
      sign('InProgress', 'Port VC Status/VC Arbitration Table Status'),
      ignore(/^Caps:/),
      ignore(/Ctrl:/),
      ignore(/Status:/),
      ignore(/Port Arbitration Table.*$/),
      ignore(/VC Arbitration Table.*$/),
    ],
  },
]);

const serial: RuleSet = {
  title: [
    text(/([0-9a-f]{2}-){7}[0-9a-f]{2}/, (f) => {
      const [low, high] = ['lower', 'upper'].map((w) => f.raw(`Serial Number, ${w} 32 bits`));
      return (hex(high!, 8) + hex(low!, 8)).match(/../g)!.join('-');
    }),
    ignore(/^Device Serial Number/),
  ],
  groups: [],
};

const access = (tail: string) => ({
  SrcValid: `ACS Source Validation${tail}`,
  TransBlk: `ACS Translation Blocking${tail}`,
  ReqRedir: `ACS P2P Request Redirect${tail}`,
  CmpltRedir: `ACS P2P Completion Redirect${tail}`,
  UpstreamFwd: `ACS Upstream Forwarding${tail}`,
  EgressCtrl: `ACS P2P Egress Control${tail}`,
  DirectTrans: `ACS Direct Translated P2P${tail}`,
});

const sriov = titled([
  line('IOVCap', [
    ...signs('SR-IOV Capabilities', {
      Migration: 'VF Migration Capable',
      '10BitTagReq': 'VF 10-Bit Tag Requester Supported',
    }),
    text(/Interrupt Message Number: [0-9a-f]{3}/, (f) => {
      const v = f.value('SR-IOV Capabilities/VF Migration Interrupt Message Number');
      return `Interrupt Message Number: ${hex(v, 3)}`;
    }),
  ]),
  line(
    'IOVCtl',
    signs('SR-IOV Control', {
      Enable: 'VF Enable',
      Migration: 'VF Migration Enable',
      Interrupt: 'VF Migration Interrupt Enable',
      MSE: 'VF MSE',
      ARIHierarchy: 'ARI Capable Hierarchy',
      '10BitTagReq': 'VF 10-Bit Tag Requester Enable',
    }),
  ),
  line('IOVSta', [sign('Migration', 'SR-IOV Status/VF Migration Status')]),
  {
    start: /^Initial VFs:/,
    rules: [
      n(/Initial VFs: \d+/, 'Initial VFs: ', 'InitialVFs'),
      n(/Total VFs: \d+/, 'Total VFs: ', 'TotalVFs'),
      n(/Number of VFs: \d+/, 'Number of VFs: ', 'NumVFs'),
      h('Function Dependency Link', 'Function Dependency Link', 2),
    ],
  },
  {
    start: /^VF offset:/,
    rules: [
      n(/VF offset: \d+/, 'VF offset: ', 'First VF Offset'),
      n(/stride: \d+/, 'stride: ', 'VF Stride'),
      h('Device ID', 'VF Device ID', 4),
    ],
  },
  {
    start: /^Supported Page Size:/,
    rules: [
      h('Supported Page Size', 'Supported Page Sizes', 8),
      h('System Page Size', 'System Page Size', 8),
    ],
  },
  {
    start: /^Region (\d):/,
    rules: [
      text(/^Region (\d): Memory at ([0-9a-f]+) \((\d+)-bit, (non-)?prefetchable\)/, (f, m) => {
        const i = Number(m[1]);
        const raw = f.raw('Base Address Register', `VF BAR ${i}`);
        // The utility shows upper halves as registers, and every type but 0 as 64-bit.
        const row = f.structure.registers.find((r) => r.instance === `VF BAR ${i}`);
        if (row?.fields[0]?.name === 'Base Address, upper 32 bits') return m[0];
        if (i === 5 && (raw & 6) === 4) return m[0];
        const wide = (raw & 6) === 4;
        const high = wide ? f.raw('Base Address Register', `VF BAR ${i + 1}`) : 0;
        const address = `${wide ? hex(high, 8) : ''}${hex((raw & 0xfffffff0) >>> 0, 8)}`;
        return `Region ${i}: Memory at ${address} (${raw & 6 ? 64 : 32}-bit, ${raw & 8 ? '' : 'non-'}prefetchable)`;
      }),
    ],
  },
  {
    start: /^VF Migration:/,
    rules: [
      text(/offset: [0-9a-f]{8}, BIR: \d/, (f) => {
        const raw = f.raw('VF Migration State Array Offset');
        return `offset: ${hex((raw & 0xfffffff8) >>> 0, 8)}, BIR: ${raw & 7}`;
      }),
      ignore(/^VF Migration:/),
    ],
  },
]);

const pairHex = (f: Fields, low: string, mask = 0xffffffff) =>
  `${hex(f.raw(`${low}, upper 32 bits`), 8)}${hex((f.raw(low) & mask) >>> 0, 8)}`;
const cast = titled([
  {
    start: /^McastCap:/,
    rules: [
      n(/MaxGroups \d+/, 'MaxGroups ', 'Multicast Capability/MC_Max_Group', 1),
      // Sizes from 2^31 on overflow in the utility: the exponent is compared.
      n(/WindowSz \d+/, 'WindowSz ', 'Multicast Capability/MC_Window_Size_Requested'),
      ignore(/\(-?\d+ bytes\)/),
      sign('ECRCRegen', 'Multicast Capability/MC_ECRC_Regeneration_Supported'),
      n(/NumGroups \d+/, 'NumGroups ', 'Multicast Control/MC_Num_Group', 1),
      sign('Enable', 'Multicast Control/MC_Enable'),
      ignore(/^McastCap:/),
      ignore(/McastCtl:/),
    ],
  },
  line('McastCtl', [
    n(/NumGroups \d+/, 'NumGroups ', 'Multicast Control/MC_Num_Group', 1),
    sign('Enable', 'Multicast Control/MC_Enable'),
  ]),
  line('McastBAR', [
    n(/IndexPos \d+/, 'IndexPos ', 'MC_Base_Address/MC_Index_Position'),
    text(/BaseAddr [0-9a-f]+/, (f) => `BaseAddr ${pairHex(f, 'MC_Base_Address', 0xfffff000)}`),
  ]),
  ...(
    [
      ['McastReceiveVec', 'MC_Receive'],
      ['McastBlockAllVec', 'MC_Block_All'],
      ['McastBlockUntransVec', 'MC_Block_Untranslated'],
    ] as const
  ).map(([word, name]) => line(word, [text(/[0-9a-f]{16}/, (f) => pairHex(f, name))])),
  line('McastOverlayBAR', [
    // The utility shows it for Root Complex Event Collectors too, which have none.
    text(/OverlaySize (\d+)/, (f, m) => {
      if (f.fn.structures[0]!.id === 0) return m[0];
      return `OverlaySize ${f.value('MC_Overlay_BAR/MC_Overlay_Size')}`;
    }),
    ignore(/\((-?\d+ bytes|disabled)\)/),
    text(/BaseAddr [0-9a-f]+/, (f, m) => {
      if (f.fn.structures[0]!.id === 0) return m[0];
      return `BaseAddr ${pairHex(f, 'MC_Overlay_BAR', 0xffffffc0)}`;
    }),
  ]),
]);

const short = (meaning: string) => meaning.replaceAll(' ', '');
function resizable(prefix: string): RuleSet {
  const name = (i: string) => `${prefix}Resizable BAR ${i}`;
  const own = (f: Fields, index: number) => {
    // The utility names the BAR; ours are numbered in the order of the registers.
    const found = [0, 1, 2, 3, 4, 5].find((i) => {
      const r = f.structure.registers.find(
        (one) => one.instance === name(`${i}`) && one.name.endsWith('Control'),
      );
      return r?.fields[0]?.value === index;
    });
    return f.structure.registers.filter((r) => r.instance === name(`${found}`));
  };
  const size = (meaning: string | undefined) =>
    meaning === undefined || meaning.startsWith('reserved') ? '<unknown>' : short(meaning);
  return titled([
    {
      start: /^BAR \d:/,
      rules: [
        text(/^BAR (\d): current size: ([^,]+)(, supported:(.*))?$/, (f, m) => {
          const registers = own(f, Number(m[1]));
          const field = (end: string) =>
            registers.flatMap((r) => r.fields).find((one) => one.name.endsWith(end))?.meaning;
          const lists = [field('Supported sizes'), field('continued')]
            .filter((list) => list !== 'none' && list !== undefined)
            .map((list) => ` ${list!.split(', ').map(short).join(' ')}`);
          const list = lists.length === 0 ? '' : `, supported:${lists.join('')}`;
          return `BAR ${m[1]}: current size: ${size(field('BAR Size'))}${list}`;
        }),
      ],
    },
  ]);
}

const hints = titled([anything]);
const latency = titled([
  ...(['snoop', 'no snoop'] as const).map((word) => ({
    start: new RegExp(`^Max ${word} latency:`),
    rules: [
      text(/\d+ns|<error>.*|<unknown>.*/, (f: Fields, m: RegExpExecArray) => {
        const name = word === 'snoop' ? 'Max Snoop Latency' : 'Max No-Snoop Latency';
        const { meaning } = f.at(`${name}/${name}Value`);
        return meaning.includes('reserved') ? m[0] : short(meaning);
      }),
      ignore(new RegExp(`^Max ${word} latency:`)),
    ],
  })),
]);

const secondary = titled([
  line('LnkCtl3', [
    sign('LnkEquIntrruptEn', 'Link Control 3/Link Equalization Request Interrupt Enable'),
    sign('PerformEqu', 'Link Control 3/Perform Equalization'),
  ]),
  line('LaneErrStat', [
    text(/LaneErr at lane:( \d+)+|0/, (f, m) => {
      const { meaning } = f.at('Lane Error Status');
      // The utility looks at the lanes of the Link alone.
      const lanes = meaning === 'none' ? [] : meaning.split(', ');
      const shown = (m[0].match(/ \d+/g) ?? []).map((lane) => lane.trim());
      const width = f.structure.registers.filter((r) => r.instance?.startsWith('Lane')).length;
      const looked = lanes.filter((lane) => Number(lane) < width);
      const same =
        shown.every((lane) => lanes.includes(lane)) && looked.every((lane) => shown.includes(lane));
      return same ? m[0] : `lanes ${meaning}`;
    }),
  ]),
]);

const dpc = titled([
  line('DpcCap', [
    n(/INT Msg #\d+/, 'INT Msg #', 'DPC Capability/DPC Interrupt Message Number'),
    ...signs('DPC Capability', {
      RPExt: 'RP Extensions for DPC',
      PoisonedTLP: 'Poisoned TLP Egress Blocking Supported',
      SwTrigger: 'DPC Software Triggering Supported',
      DL_ActiveErr: 'DL_Active ERR_COR Signaling Supported',
    }),
    n(/RP PIO Log \d+/, 'RP PIO Log ', 'DPC Capability/RP PIO Log Size'),
  ]),
  line('DpcCtl', [
    n(/Trigger:\d/, 'Trigger:', 'DPC Control/DPC Trigger Enable'),
    ...signs('DPC Control', {
      Cmpl: 'DPC Completion Control',
      INT: 'DPC Interrupt Enable',
      ErrCor: 'DPC ERR_COR Enable',
      PoisonedTLP: 'Poisoned TLP Egress Blocking Enable',
      SwTrigger: 'DPC Software Trigger',
      DL_ActiveErr: 'DL_Active ERR_COR Enable',
    }),
  ]),
  line('DpcSta', [
    sign('Trigger', 'DPC Status/DPC Trigger Status'),
    text(/Reason:\d+/, (f) => `Reason:${hex(f.value('DPC Status/DPC Trigger Reason'), 2)}`),
    sign('INT', 'DPC Status/DPC Interrupt Status'),
    sign('RPBusy', 'DPC Status/DPC RP Busy'),
    text(
      /TriggerExt:\d+/,
      (f) => `TriggerExt:${hex(f.value('DPC Status/DPC Trigger Reason Extension'), 2)}`,
    ),
    text(
      /RP PIO ErrPtr:[0-9a-f]+/,
      (f) => `RP PIO ErrPtr:${hex(f.value('DPC Status/RP PIO First Error Pointer'), 2)}`,
    ),
  ]),
  line('Source', [text(/[0-9a-f]{4}/, (f) => hex(f.raw('DPC Error Source ID'), 4))]),
]);

const caps = 'L1 PM Substates Capabilities';
const ctl1 = 'L1 PM Substates Control 1';
const four = (register: string, tail: string) =>
  ['PCI-PM L1.2', 'PCI-PM L1.1', 'ASPM L1.2', 'ASPM L1.1'].map((name) =>
    sign(name.replace(' ', '_'), `${register}/${name} ${tail}`),
  );
const orError = (meaning: string) =>
  meaning.includes('reserved') ? '<error>' : short(meaning).replace('µ', 'u');
const substates = titled([
  line('L1SubCap', [
    ...four(caps, 'Supported'),
    sign('L1_PM_Substates', `${caps}/L1 PM Substates Supported`),
    text(/PortCommonModeRestoreTime=\S+/, (f) => {
      return `PortCommonModeRestoreTime=${f.value(`${caps}/Port Common_Mode_Restore_Time`)}us`;
    }),
    text(/PortTPowerOnTime=\S+/, (f) => {
      return `PortTPowerOnTime=${orError(f.at(`${caps}/Port T_POWER_ON Value`).meaning)}`;
    }),
  ]),
  line('L1SubCtl1', [
    ...four(ctl1, 'Enable'),
    text(
      /T_CommonMode=\d+us/,
      (f) => `T_CommonMode=${f.value(`${ctl1}/Common_Mode_Restore_Time`)}us`,
    ),
    text(/LTR1.2_Threshold=\S+/, (f) => {
      return `LTR1.2_Threshold=${orError(f.at(`${ctl1}/LTR_L1.2_THRESHOLD_Value`).meaning)}`;
    }),
  ]),
  line('L1SubCtl2', [
    text(/T_PwrOn=\S+/, (f) => {
      return `T_PwrOn=${orError(f.at('L1 PM Substates Control 2/T_POWER_ON Value').meaning)}`;
    }),
  ]),
]);

const granularity = (f: Fields, path: string) => {
  const { value, meaning } = f.at(path);
  if (value === 0) return path.includes('Local') ? 'Unimplemented' : 'Unknown';
  return value === 255 ? 'Greater than 254ns' : short(meaning);
};
const time = titled([
  line('PTMCap', [
    ...(['Requester', 'Responder', 'Root'] as const).map((word) =>
      sign(`${word}:`, `PTM Capability/PTM ${word} Capable`),
    ),
  ]),
  line('PTMControl', [
    sign('Enabled:', 'PTM Control/PTM Enable'),
    sign('RootSelected:', 'PTM Control/Root Select'),
  ]),
  line('PTMClockGranularity', [
    text(/(?<=: ).*$/, (f) => granularity(f, 'PTM Capability/Local Clock Granularity')),
  ]),
  line('PTMEffectiveGranularity', [
    text(/(?<=: ).*$/, (f) => granularity(f, 'PTM Control/Effective Granularity')),
  ]),
]);

const designated: RuleSet = {
  title: [
    text(/Vendor=[0-9a-f]{4} ID=[0-9a-f]{4} Rev=\d+ Len=\d+/, (f) => {
      const raw = f.raw('Designated Vendor-Specific Header 1');
      const id = f.raw('Designated Vendor-Specific Header 2');
      return `Vendor=${hex(raw & 0xffff, 4)} ID=${hex(id, 4)} Rev=${(raw >>> 16) & 15} Len=${raw >>> 20}`;
    }),
    ignore(/^Designated Vendor-Specific:/),
    ignore(/<\?>|: .*$/),
  ],
  groups: [anything],
};
const vendor: RuleSet = {
  title: [
    text(/ID=[0-9a-f]{4} Rev=\d+ Len=[0-9a-f]+/, (f) => {
      const raw = f.raw('Vendor-Specific Header');
      return `ID=${hex(raw & 0xffff, 4)} Rev=${(raw >>> 16) & 15} Len=${hex(raw >>> 20, 3)}`;
    }),
    ignore(/^Vendor Specific Information:/),
    ignore(/<\?>/),
  ],
  groups: [anything],
};

const exchange = titled([
  line('DOECap', [
    sign('IntSup', 'DOE Capabilities/DOE Interrupt Support'),
    text(/Interrupt Message Number [0-9a-f]+/, (f) => {
      return `Interrupt Message Number ${hex(f.value('DOE Capabilities/DOE Interrupt Message Number'), 3)}`;
    }),
  ]),
  line('DOECtl', [sign('IntEn', 'DOE Control/DOE Interrupt Enable')]),
  line('DOESta', [
    // The utility tests another bit than the DOE Error of revision 6.3 and of kernel headers.
    ignore(/Error[+-]/),
    ...signs('DOE Status', {
      Busy: 'DOE Busy',
      IntSta: 'DOE Interrupt Status',
      ObjectReady: 'Data Object Ready',
    }),
  ]),
]);

const linkDeclaration = titled([
  {
    start: /^Link(\d+):/,
    instance: (m) => `Link Entry ${m[1]}`,
    rules: [
      text(/TargetPort=[0-9a-f]{2} TargetComponent=[0-9a-f]{2}/, (f) => {
        const raw = f.raw('Link Description');
        return `TargetPort=${hex(raw >>> 24, 2)} TargetComponent=${hex((raw >>> 16) & 255, 2)}`;
      }),
      sign('AssocRCRB', 'Link Description/Associate RCRB Header'),
      sign('LinkValid', 'Link Description/Link Valid'),
      text(/LinkType=[A-Za-z]+/, (f) => {
        return `LinkType=${f.value('Link Description/Link Type') ? 'Config' : 'MemMapped'}`;
      }),
      ignore(/Addr:.*$/),
      ignore(/^Link\d+:\s+Desc:/),
    ],
  },
  {
    start: /^Desc:/,
    rules: [
      text(/PortNumber=[0-9a-f]{2} ComponentID=[0-9a-f]{2}/, (f) => {
        const raw = f.raw('Element Self Description');
        return `PortNumber=${hex(raw >>> 24, 2)} ComponentID=${hex((raw >>> 16) & 255, 2)}`;
      }),
      text(/EltType=.*$/, (f) => {
        const v = f.value('Element Self Description/Element Type');
        return `EltType=${['Config', 'Egress', 'Internal'][v] ?? `??${v}`}`;
      }),
      ignore(/^Desc:/),
    ],
  },
]);

const collector = titled([
  line('RCiEPBitmap', [
    text(/(?<=: ).*$/, (f, m) => {
      const raw = f.raw('Association Bitmap for RCiEPs');
      // The utility loses count at device 31.
      if (raw >>> 31) return m[0];
      return raw === 0 ? '00000000 [none]' : `RCiEP at Device(s): ${spans(raw)}`;
    }),
  ]),
  line('AssociatedBusNumbers', [
    text(/[0-9a-f]{2}-[0-9a-f]{2}.*$/, (f, m) => {
      const raw = f.raw('RCEC Associated Bus Numbers');
      return `${hex((raw >> 8) & 255, 2)}-${hex((raw >> 16) & 255, 2)}${m[0].slice(5)}`;
    }),
    ignore(/<none>/),
  ]),
]);

/** Set bits as `0, 2-5`. */
function spans(raw: number): string {
  const shown: string[] = [];
  for (let i = 0; i < 32; i += 1) {
    if (((raw >>> i) & 1) === 0) continue;
    let to = i;
    while (to < 31 && ((raw >>> (to + 1)) & 1) === 1) to += 1;
    shown.push(to === i ? `${i}` : `${i}-${to}`);
    i = to;
  }
  return shown.join(', ');
}

/** By extended capability ID; shown by name only where absent. */
export const extendedRules: ReadonlyMap<number, RuleSet> = new Map([
  [0x0001, aer],
  [0x0002, channel],
  [0x0009, channel],
  [0x0003, serial],
  [0x0005, linkDeclaration],
  [0x0007, collector],
  [0x000b, vendor],
  [
    0x000d,
    titled([
      line('ACSCap', signs('ACS Capability', access(''))),
      line('ACSCtl', signs('ACS Control', access(' Enable'))),
    ]),
  ],
  [
    0x000e,
    titled([
      line('ARICap', [
        sign('MFVC', 'ARI Capability/MFVC Function Groups Capability'),
        sign('ACS', 'ARI Capability/ACS Function Groups Capability'),
        n(/Next Function: \d+/, 'Next Function: ', 'ARI Capability/Next Function Number'),
      ]),
      line('ARICtl', [
        sign('MFVC', 'ARI Control/MFVC Function Groups Enable'),
        sign('ACS', 'ARI Control/ACS Function Groups Enable'),
        n(/Function Group: \d/, 'Function Group: ', 'ARI Control/Function Group'),
      ]),
    ]),
  ],
  [
    0x000f,
    titled([
      line('ATSCap', [
        text(/Invalidate Queue Depth: [0-9a-f]+/, (f) => {
          return `Invalidate Queue Depth: ${hex(f.raw('ATS Capability') & 31, 2)}`;
        }),
      ]),
      line('ATSCtl', [
        sign('Enable', 'ATS Control/ATS Enable'),
        text(/Smallest Translation Unit: [0-9a-f]+/, (f) => {
          return `Smallest Translation Unit: ${hex(f.value('ATS Control/Smallest Translation Unit'), 2)}`;
        }),
      ]),
    ]),
  ],
  [0x0010, sriov],
  [0x0012, cast],
  [
    0x0013,
    titled([
      line('PRICtl', [
        sign('Enable', 'Page Request Control/Enable'),
        sign('Reset', 'Page Request Control/Reset'),
      ]),
      line(
        'PRISta',
        signs('Page Request Status', {
          RF: 'Response Failure',
          UPRGI: 'Unexpected Page Request Group Index',
          Stopped: 'Stopped',
        }),
      ),
      {
        start: /^Page Request Capacity:/,
        rules: [
          h('Page Request Capacity', 'Outstanding Page Request Capacity', 8),
          h('Page Request Allocation', 'Outstanding Page Request Allocation', 8),
        ],
      },
    ]),
  ],
  [0x0015, resizable('')],
  [0x0024, resizable('VF ')],
  [0x0017, hints],
  [0x0018, latency],
  [0x0019, secondary],
  [
    0x001b,
    titled([
      line('PASIDCap', [
        sign('Exec', 'PASID Capability/Execute Permission Supported'),
        sign('Priv', 'PASID Capability/Privileged Mode Supported'),
        text(/Max PASID Width: [0-9a-f]{2}/, (f) => {
          return `Max PASID Width: ${hex(f.value('PASID Capability/Max PASID Width'), 2)}`;
        }),
      ]),
      line(
        'PASIDCtl',
        signs('PASID Control', {
          Enable: 'PASID Enable',
          Exec: 'Execute Permission Enable',
          Priv: 'Privileged Mode Enable',
        }),
      ),
    ]),
  ],
  [0x001d, dpc],
  [0x001e, substates],
  [0x001f, time],
  [0x0023, designated],
  [0x002e, exchange],
]);
