/** A file handed to the person, who finds it in the downloads. */
const TYPES: Readonly<Record<string, string>> = {
  json: 'application/json',
  csv: 'text/csv',
  xlsx: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
  pdf: 'application/pdf',
  svg: 'image/svg+xml',
  dxf: 'image/vnd.dxf',
  glb: 'model/gltf-binary',
  ifc: 'application/x-step',
};

export function give(name: string, data: string | Uint8Array<ArrayBuffer>): void {
  const address = URL.createObjectURL(new Blob([data], { type: TYPES[name.split('.').pop() ?? ''] ?? 'application/octet-stream' }));
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** Bytes of an answer, which come as text. */
export const bytesOf = (text: string): Uint8Array<ArrayBuffer> => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

/** 'Pump house, disconnect to pump 2' as part of a file's name. */
export const fileName = (words: string): string => words.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '').slice(0, 60) || 'racewright';
