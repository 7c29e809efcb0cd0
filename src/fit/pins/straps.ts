/** Sidebands that a strap to ground is one of the two settings of, or that ground announces. */
export const strapped: ReadonlySet<string> = new Set([
  'GA0',
  'GA1',
  'GA2',
  'ROOT0#',
  'MVMRO',
  'MPRESENT#',
  'M66EN',
  'IDSEL',
  'BUSMODE1#',
  'BUSMODE2#',
  'BUSMODE3#',
  'BUSMODE4#',
]);
