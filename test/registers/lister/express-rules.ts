/** The PCI Express capability as the utility shows it. */
import { type Fields, type Group, hex, ignore, type Rule, sign, signs, text } from './parse.ts';

const speeds = ['unknown', '2.5GT/s', '5GT/s', '8GT/s', '16GT/s', '32GT/s', '64GT/s'];
const speed = (v: number) => speeds[v] ?? 'unknown';
const l0s = ['<64ns', '<128ns', '<256ns', '<512ns', '<1us', '<2us', '<4us', 'unlimited'];
const l1 = ['<1us', '<2us', '<4us', '<8us', '<16us', '<32us', '<64us', 'unlimited'];

/** A limit as the utility writes it; ours beside its own product of value and scale. */
function watts(f: Fields, path: string, scalePath: string): string {
  const { value, meaning } = f.at(path);
  const scale = f.value(scalePath);
  if (meaning === 'more than 600 W') return '>600W';
  const product = Number((value * [1, 0.1, 0.01, 0.001][scale]!).toPrecision(6));
  if (scale === 0 && value >= 0xf0) return meaning.replace(' ', '');
  return `${product} W` === meaning ? `${product}W` : meaning;
}

/** The end of a latency as the tables say it, in the utility's words. */
function limit(meaning: string): string {
  if (meaning === 'no limit') return 'unlimited';
  return `<${meaning.replace('up to ', '').replace('µ', 'u').replace(' ', '')}`;
}

function exit(meaning: string): string {
  if (meaning.startsWith('more than')) return 'unlimited';
  const most = meaning.startsWith('less than') ? meaning.slice(10) : meaning.split(' to ')[1]!;
  return `<${most.replace('µ', 'u').replace(' ', '')}`;
}

const portNames: Readonly<Record<number, string>> = {
  0: 'Endpoint',
  1: 'Legacy Endpoint',
  4: 'Root Port',
  5: 'Upstream Port',
  6: 'Downstream Port',
  7: 'PCI-Express to PCI/PCI-X Bridge',
  8: 'PCI/PCI-X to PCI-Express Bridge',
  9: 'Root Complex Integrated Endpoint',
  10: 'Root Complex Event Collector',
};
const flags = 'PCI Express Capabilities';

export const expressTitle: Rule[] = [
  text(/Express( \(v\d+\))? .*, MSI [0-9a-f]{2}/, (f) => {
    const raw = f.raw(flags);
    return `Express (v${raw & 15}) ${portText(f)}, MSI ${hex((raw >> 9) & 31, 2)}`;
  }),
];

function portText(f: Fields): string {
  const raw = f.raw(flags);
  const port = (raw >> 4) & 15;
  const slot = port === 4 || port === 6 || port === 8 ? ` (Slot${(raw >> 8) & 1 ? '+' : '-'})` : '';
  return `${portNames[port]}${slot}`;
}

const dcap = 'Device Capabilities';
const dctl = 'Device Control';
const lcap = 'Link Capabilities';
const lctl = 'Link Control';
const lsta = 'Link Status';
const bytes = (word: string, path: string) =>
  text(new RegExp(`${word} \\d+ bytes`), (f) => `${word} ${128 << f.value(path)} bytes`);

const device: Group[] = [
  {
    start: /^DevCap:/,
    rules: [
      bytes('MaxPayload', `${dcap}/Max_Payload_Size Supported`),
      text(
        /PhantFunc \d+/,
        (f) => `PhantFunc ${2 ** f.value(`${dcap}/Phantom Functions Supported`) - 1}`,
      ),
      text(/Latency L0s \S+, L1 \S+/, (f) => {
        const [a, b] = [
          f.at(`${dcap}/Endpoint L0s Acceptable Latency`),
          f.at(`${dcap}/Endpoint L1 Acceptable Latency`),
        ];
        if (l0s[a.value] !== limit(a.meaning)) return a.meaning;
        if (l1[b.value] !== limit(b.meaning)) return b.meaning;
        return `Latency L0s ${l0s[a.value]}, L1 ${l1[b.value]}`;
      }),
      text(/SlotPowerLimit \S+/, (f) => {
        const name = `${dcap}/Captured Slot Power Limit`;
        return `SlotPowerLimit ${watts(f, `${name} Value`, `${name} Scale`)}`;
      }),
      ...signs(dcap, {
        ExtTag: 'Extended Tag Field Supported',
        AttnBtn: 'Attention Button Present (revision 1.0a)',
        AttnInd: 'Attention Indicator Present (revision 1.0a)',
        PwrInd: 'Power Indicator Present (revision 1.0a)',
        RBE: 'Role-Based Error Reporting',
        FLReset: 'Function Level Reset Capability',
      }),
      ignore(/^DevCap:/),
    ],
  },
  {
    start: /^DevCtl:/,
    rules: [
      ...signs(dctl, {
        CorrErr: 'Correctable Error Reporting Enable',
        NonFatalErr: 'Non-Fatal Error Reporting Enable',
        FatalErr: 'Fatal Error Reporting Enable',
        UnsupReq: 'Unsupported Request Reporting Enable',
        RlxdOrd: 'Enable Relaxed Ordering',
        ExtTag: 'Extended Tag Field Enable',
        PhantFunc: 'Phantom Functions Enable',
        AuxPwr: 'Aux Power PM Enable',
        NoSnoop: 'Enable No Snoop',
        FLReset: 'Initiate Function Level Reset',
        BrConfRtry: 'Bridge Configuration Retry Enable',
      }),
      bytes('MaxPayload', `${dctl}/Max_Payload_Size`),
      bytes('MaxReadReq', `${dctl}/Max_Read_Request_Size`),
      ignore(/^DevCtl:/),
    ],
  },
  {
    start: /^DevSta:/,
    rules: [
      ...signs('Device Status', {
        CorrErr: 'Correctable Error Detected',
        NonFatalErr: 'Non-Fatal Error Detected',
        FatalErr: 'Fatal Error Detected',
        UnsupReq: 'Unsupported Request Detected',
        AuxPwr: 'AUX Power Detected',
        TransPend: 'Transactions Pending',
      }),
      ignore(/^DevSta:/),
    ],
  },
];

const aspmWords = ['not supported', 'L0s', 'L1', 'L0s L1'];

const link: Group[] = [
  {
    start: /^LnkCap:/,
    rules: [
      text(/Port #\d+/, (f) => `Port #${f.value(`${lcap}/Port Number`)}`),
      text(/Speed [^,]+, Width x\d+/, (f) => {
        const [s, w] = [f.value(`${lcap}/Max Link Speed`), f.value(`${lcap}/Maximum Link Width`)];
        return `Speed ${speed(s)}, Width x${w}`;
      }),
      text(/ASPM (not supported|L0s L1|L0s|L1)/, (f) => {
        return `ASPM ${aspmWords[f.value(`${lcap}/ASPM Support`)]}`;
      }),
      text(/Exit Latency (L0s \S+, L1 \S+|L0s \S+|L1 \S+)/, (f) => {
        const on = f.value(`${lcap}/ASPM Support`);
        const parts = [
          ...(on & 1 ? [`L0s ${exit(f.at(`${lcap}/L0s Exit Latency`).meaning)}`] : []),
          ...(on & 2 ? [`L1 ${exit(f.at(`${lcap}/L1 Exit Latency`).meaning)}`] : []),
        ];
        return `Exit Latency ${parts.join(', ')}`;
      }),
      ...signs(lcap, {
        ClockPM: 'Clock Power Management',
        Surprise: 'Surprise Down Error Reporting Capable',
        LLActRep: 'Data Link Layer Link Active Reporting Capable',
        BwNot: 'Link Bandwidth Notification Capability',
        ASPMOptComp: 'ASPM Optionality Compliance',
      }),
      ignore(/^LnkCap:/),
    ],
  },
  {
    start: /^LnkCtl:/,
    rules: [
      text(/ASPM ((L0s L1|L0s|L1) Enabled|Disabled)/, (f) => {
        const on = f.value(`${lctl}/Active State Power Management Control`);
        return `ASPM ${on === 0 ? 'Disabled' : `${['', 'L0s', 'L1', 'L0s L1'][on]} Enabled`}`;
      }),
      text(/RCB \d+ bytes/, (f) => {
        return `RCB ${f.at(`${lctl}/Read Completion Boundary`).meaning.replace('B', 'bytes')}`;
      }),
      ...signs(lctl, {
        Disabled: 'Link Disable',
        CommClk: 'Common Clock Configuration',
        ExtSynch: 'Extended Synch',
        ClockPM: 'Enable Clock Power Management',
        AutWidDis: 'Hardware Autonomous Width Disable',
        BWInt: 'Link Bandwidth Management Interrupt Enable',
        AutBWInt: 'Link Autonomous Bandwidth Interrupt Enable',
      }),
      ignore(/^LnkCtl:/),
    ],
  },
  {
    start: /^LnkSta:/,
    rules: [
      text(/Speed [^,(]+?( \([a-z]+\))?, Width x\d+( \([a-z]+\))?/, (f, m) => {
        const s = f.value(`${lsta}/Current Link Speed`);
        const w = f.value(`${lsta}/Negotiated Link Width`);
        return `Speed ${speed(s)}${m[1] ?? ''}, Width x${w}${m[2] ?? ''}`;
      }),
      ...signs(lsta, {
        TrErr: 'Training Error (revision 1.0a)',
        Train: 'Link Training',
        SlotClk: 'Slot Clock Configuration',
        DLActive: 'Data Link Layer Link Active',
        BWMgmt: 'Link Bandwidth Management Status',
        ABWMgmt: 'Link Autonomous Bandwidth Status',
      }),
      ignore(/^LnkSta:/),
    ],
  },
];

const scap = 'Slot Capabilities';
const sctl = 'Slot Control';
const indicators = ['Unknown', 'On', 'Blink', 'Off'];
const indicatorsOurs = ['reserved encoding 0', 'on', 'blinking', 'off'];

function indicator(f: Fields, path: string): string {
  const { value, meaning } = f.at(path);
  return meaning === indicatorsOurs[value] ? indicators[value]! : meaning;
}

const slot: Group[] = [
  {
    start: /^SltCap:/,
    rules: [
      ...signs(scap, {
        AttnBtn: 'Attention Button Present',
        PwrCtrl: 'Power Controller Present',
        MRL: 'MRL Sensor Present',
        AttnInd: 'Attention Indicator Present',
        PwrInd: 'Power Indicator Present',
        HotPlug: 'Hot-Plug Capable',
        Surprise: 'Hot-Plug Surprise',
        Interlock: 'Electromechanical Interlock Present',
        NoCompl: 'No Command Completed Support',
      }),
      text(/Slot #\d+/, (f) => `Slot #${f.value(`${scap}/Physical Slot Number`)}`),
      text(/PowerLimit \S+W/, (f) => {
        const name = `${scap}/Slot Power Limit`;
        return `PowerLimit ${watts(f, `${name} Value`, `${name} Scale`)}`;
      }),
      ignore(/^SltCap:/),
    ],
  },
  {
    start: /^SltCtl:/,
    rules: [
      text(
        /AttnInd [A-Z][a-z]+/,
        (f) => `AttnInd ${indicator(f, `${sctl}/Attention Indicator Control`)}`,
      ),
      text(
        /PwrInd [A-Z][a-z]+/,
        (f) => `PwrInd ${indicator(f, `${sctl}/Power Indicator Control`)}`,
      ),
      ...signs(sctl, {
        AttnBtn: 'Attention Button Pressed Enable',
        PwrFlt: 'Power Fault Detected Enable',
        MRL: 'MRL Sensor Changed Enable',
        PresDet: 'Presence Detect Changed Enable',
        CmdCplt: 'Command Completed Interrupt Enable',
        HPIrq: 'Hot-Plug Interrupt Enable',
        LinkChg: 'Data Link Layer State Changed Enable',
        Power: 'Power Controller Control',
        Interlock: 'Electromechanical Interlock Control',
      }),
      ignore(/^SltCtl:\s*Enable:/),
      ignore(/Control:/),
    ],
  },
  {
    start: /^SltSta:/,
    rules: [
      ...signs('Slot Status', {
        AttnBtn: 'Attention Button Pressed',
        PowerFlt: 'Power Fault Detected',
        MRL: 'MRL Sensor State',
        CmdCplt: 'Command Completed',
        PresDet: 'Presence Detect State',
        Interlock: 'Electromechanical Interlock Status',
      }),
      ignore(/^SltSta:\s*Status:/),
    ],
  },
  {
    start: /^Changed:/,
    rules: [
      ...signs('Slot Status', {
        MRL: 'MRL Sensor Changed',
        PresDet: 'Presence Detect Changed',
        LinkState: 'Data Link Layer State Changed',
      }),
      ignore(/^Changed:/),
    ],
  },
];

const root: Group[] = [
  {
    start: /^RootCap:/,
    rules: [
      sign('CRSVisible', 'Root Capabilities/Configuration RRS Software Visibility'),
      ignore(/^RootCap:/),
    ],
  },
  {
    start: /^RootCtl:/,
    rules: [
      ...signs('Root Control', {
        ErrCorrectable: 'System Error on Correctable Error Enable',
        'ErrNon-Fatal': 'System Error on Non-Fatal Error Enable',
        ErrFatal: 'System Error on Fatal Error Enable',
        PMEIntEna: 'PME Interrupt Enable',
        CRSVisible: 'Configuration RRS Software Visibility Enable',
      }),
      ignore(/^RootCtl:/),
    ],
  },
  {
    start: /^RootSta:/,
    rules: [
      text(/PME ReqID [0-9a-f]{4}/, (f) => {
        return `PME ReqID ${hex(f.value('Root Status/PME Requester ID'), 4)}`;
      }),
      sign('PMEStatus', 'Root Status/PME Status'),
      sign('PMEPending', 'Root Status/PME Pending'),
      ignore(/^RootSta:/),
    ],
  },
];

const dcap2 = 'Device Capabilities 2';
const dctl2 = 'Device Control 2';
const obff = ['Not Supported', 'Via message', 'Via WAKE#', 'Via message/WAKE#'];
const obffOn = ['Disabled', 'Via message A', 'Via message B', 'Via WAKE#'];
const reduction = ['Not Supported', 'Dev Specific', 'Form Factor Dev Specific', 'Reserved'];
const lines = ['Not Supported', '64byte cachelines', '128byte cachelines', 'Reserved'];
/** Ranges A to D in the utility's words. */
function timeouts(v: number): string {
  const words: Readonly<Record<number, string>> = {
    0: 'Not Supported',
    1: 'Range A',
    2: 'Range B',
    3: 'Range AB',
    6: 'Range BC',
    7: 'Range ABC',
    14: 'Range BCD',
    15: 'Range ABCD',
  };
  return words[v] ?? 'Unknown';
}
const timeoutValues: Readonly<Record<number, string>> = {
  0: '50us to 50ms',
  1: '50us to 100us',
  2: '1ms to 10ms',
  5: '16ms to 55ms',
  6: '65ms to 210ms',
  9: '260ms to 900ms',
  10: '1s to 3.5s',
  13: '4s to 13s',
  14: '17s to 64s',
};

const second: Group[] = [
  {
    start: /^DevCap2:/,
    rules: [
      text(/Completion Timeout: (Not Supported|Unknown|Range [A-D]+)/, (f) => {
        return `Completion Timeout: ${timeouts(f.value(`${dcap2}/Completion Timeout Ranges Supported`))}`;
      }),
      text(/OBFF (Not Supported|Via message\/WAKE#|Via message|Via WAKE#)/, (f) => {
        return `OBFF ${obff[f.value(`${dcap2}/OBFF Supported`)]}`;
      }),
      text(/MaxEETLPPrefixes \d/, (f) => {
        return `MaxEETLPPrefixes ${f.at(`${dcap2}/Max End-End TLP Prefixes`).meaning}`;
      }),
      text(
        /EmergencyPowerReduction (Not Supported|Form Factor Dev Specific|Dev Specific|Reserved)/,
        (f) => {
          return `EmergencyPowerReduction ${reduction[f.value(`${dcap2}/Emergency Power Reduction Supported`)]}`;
        },
      ),
      text(/LN System CLS (Not Supported|\d+byte cachelines|Reserved)/, (f) => {
        return `LN System CLS ${lines[f.value(`${dcap2}/LN System CLS`)]}`;
      }),
      text(/(?<!Ext)TPHComp([+-]) ExtTPHComp([+-])/, (f) => {
        const v = f.value(`${dcap2}/TPH Completer Supported`);
        return `TPHComp${v & 1 ? '+' : '-'} ExtTPHComp${v & 2 ? '+' : '-'}`;
      }),
      ...signs(dcap2, {
        TimeoutDis: 'Completion Timeout Disable Supported',
        NROPrPrP: 'No RO-enabled PR-PR Passing',
        LTR: 'LTR Mechanism Supported',
        '10BitTagComp': '10-Bit Tag Completer Supported',
        '10BitTagReq': '10-Bit Tag Requester Supported',
        ExtFmt: 'Extended Fmt Field Supported',
        EETLPPrefix: 'End-End TLP Prefix Supported',
        EmergencyPowerReductionInit: 'Emergency Power Reduction Initialization Required',
        FRS: 'FRS Supported',
        ARIFwd: 'ARI Forwarding Supported',
        Routing: 'AtomicOp Routing Supported',
        '32bit': '32-bit AtomicOp Completer Supported',
        '64bit': '64-bit AtomicOp Completer Supported',
        '128bitCAS': '128-bit CAS Completer Supported',
      }),
      ignore(/AtomicOpsCap:/),
      ignore(/^DevCap2:/),
    ],
  },
  {
    start: /^DevCtl2:/,
    rules: [
      text(/Completion Timeout: (Unknown|\d+\S+ to \S+s)/, (f) => {
        const { value, meaning } = f.at(`${dctl2}/Completion Timeout Value`);
        const known = timeoutValues[value];
        const ours = meaning
          .replace(' (default)', '')
          .replaceAll(/ (?=[µm]?s)/g, '')
          .replaceAll('µ', 'u');
        if (known !== undefined && ours !== known) return meaning;
        return `Completion Timeout: ${known ?? 'Unknown'}`;
      }),
      text(/OBFF (Disabled|Via message [AB]|Via WAKE#)/, (f) => {
        return `OBFF ${obffOn[f.value(`${dctl2}/OBFF Enable`)]}`;
      }),
      ...signs(dctl2, {
        TimeoutDis: 'Completion Timeout Disable',
        LTR: 'LTR Mechanism Enable',
        '10BitTagReq': '10-Bit Tag Requester Enable',
        ARIFwd: 'ARI Forwarding Enable',
        ReqEn: 'AtomicOp Requester Enable',
        EgressBlck: 'AtomicOp Egress Blocking',
      }),
      ignore(/AtomicOpsCtl:/),
      ignore(/^DevCtl2:/),
    ],
  },
];

const lctl2 = 'Link Control 2';
const lsta2 = 'Link Status 2';
const lcap2 = 'Link Capabilities 2';
// 0 is permitted where 2.5 GT/s is the only speed.
const rates = ['2.5GT/s', '2.5GT/s', '5GT/s', '8GT/s', '16GT/s', '32GT/s', '64GT/s'];
const crosslinks = ['unsupported', 'Upstream Port', 'Downstream Port', 'incomplete'];
const components = [
  'Link Down - Not Determined',
  'Link Down - Not Present',
  'Link Down - Present',
  'Reserved',
  'Link Up - Present',
  'Link Up - Present and DRS Received',
  'Reserved',
  'Reserved',
];
const presets = [
  '-6dB de-emphasis, 0dB preshoot',
  '-3.5dB de-emphasis, 0dB preshoot',
  '-4.4dB de-emphasis, 0dB preshoot',
  '-2.5dB de-emphasis, 0dB preshoot',
  '0dB de-emphasis, 0dB preshoot',
  '0dB de-emphasis, 1.9dB preshoot',
  '0dB de-emphasis, 2.5dB preshoot',
  '-6.0dB de-emphasis, 3.5dB preshoot',
  '-3.5dB de-emphasis, 3.5dB preshoot',
  '0dB de-emphasis, 3.5dB preshoot',
];

/** The utility names the highest of the speeds up to 32 GT/s, whatever lies below it. */
function rateList(v: number): string {
  if (v & 0x60) return 'RsvdP';
  if (v & 0x10) return '2.5-32GT/s';
  if (v & 0x08) return '2.5-16GT/s';
  if (v & 0x04) return '2.5-8GT/s';
  if (v & 0x02) return '2.5-5GT/s';
  return v & 0x01 ? '2.5GT/s' : 'Unknown';
}

const second2: Group[] = [
  {
    start: /^LnkCap2:/,
    rules: [
      text(/Supported Link Speeds: [^,]+/, (f) => {
        return `Supported Link Speeds: ${rateList(f.value(`${lcap2}/Supported Link Speeds Vector`))}`;
      }),
      ...signs(lcap2, {
        Crosslink: 'Crosslink Supported',
        Retimer: 'Retimer Presence Detect Supported',
        '2Retimers': 'Two Retimers Presence Detect Supported',
        DRS: 'DRS Supported',
      }),
      ignore(/^LnkCap2:/),
    ],
  },
  {
    start: /^LnkCtl2:/,
    rules: [
      text(/Target Link Speed: [^,]+/, (f) => {
        return `Target Link Speed: ${rates[f.value(`${lctl2}/Target Link Speed`)] ?? 'Unknown'}`;
      }),
      text(/Selectable De-emphasis: \S+dB/, (f) => {
        return `Selectable De-emphasis: ${f.at(`${lctl2}/Selectable De-emphasis`).meaning.replace(' ', '')}`;
      }),
      text(/Transmit Margin: [^,]+/, (f, m) => {
        const v = f.value(`${lctl2}/Transmit Margin`);
        // Voltages are for 2.5 and 5 GT/s only, and the utility's own words.
        const known = [
          'Normal Operating Range',
          '800-1200mV(full-swing)/400-700mV(half-swing)',
          '200-400mV(full-swing)/100-200mV(half-swing)',
          '200-400mV(full-swing)/100-200mV(half-swing)',
        ];
        return `Transmit Margin: ${known[v] ?? m[0].slice(17)}`;
      }),
      text(/Compliance Preset\/De-emphasis: (\S+ de-emphasis, \S+ preshoot|Unknown)/, (f) => {
        const value = f.raw(lctl2) >> 12;
        return `Compliance Preset/De-emphasis: ${presets[value] ?? 'Unknown'}`;
      }),
      ...signs(lctl2, {
        EnterCompliance: 'Enter Compliance',
        SpeedDis: 'Hardware Autonomous Speed Disable',
        EnterModifiedCompliance: 'Enter Modified Compliance',
        ComplianceSOS: 'Compliance SOS',
      }),
      ignore(/^LnkCtl2:/),
    ],
  },
  {
    start: /^LnkSta2:/,
    rules: [
      text(/Current De-emphasis Level: \S+dB/, (f) => {
        return `Current De-emphasis Level: ${f.at(`${lsta2}/Current De-emphasis Level`).meaning.replace(' ', '')}`;
      }),
      text(/CrosslinkRes: [^,]+?(?=,|$)/, (f) => {
        return `CrosslinkRes: ${crosslinks[f.value(`${lsta2}/Crosslink Resolution`)]}`;
      }),
      text(/DownstreamComp: .*$/, (f) => {
        return `DownstreamComp: ${components[f.value(`${lsta2}/Downstream Component Presence`)]}`;
      }),
      ...signs(lsta2, {
        EqualizationComplete: 'Equalization 8.0 GT/s Complete',
        EqualizationPhase1: 'Equalization 8.0 GT/s Phase 1 Successful',
        EqualizationPhase2: 'Equalization 8.0 GT/s Phase 2 Successful',
        EqualizationPhase3: 'Equalization 8.0 GT/s Phase 3 Successful',
        LinkEqualizationRequest: 'Link Equalization Request 8.0 GT/s',
        Retimer: 'Retimer Presence Detected',
        '2Retimers': 'Two Retimers Presence Detected',
        DRS: 'DRS Message Received',
      }),
      ignore(/^LnkSta2:/),
    ],
  },
];

export const expressGroups: Group[] = [...device, ...link, ...slot, ...root, ...second, ...second2];
