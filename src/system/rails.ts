/** Supply rails of the mezzanine, as parts and tables name them. */
export const rails = ['VPWR', '3.3V', '3.3VAUX', '+12V', '-12V', '5V', 'V(I/O)'] as const;
export type Rail = (typeof rails)[number];
