/** An SVG document from the engine as an image: nothing in it can run or reach the page. */
import { useEffect, useState } from 'preact/hooks';

export function SvgImage({ svg, label, kind = '' }: { svg: string; label: string; kind?: string }) {
  const [address, setAddress] = useState('');
  useEffect(() => {
    const made = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    setAddress(made);
    return () => URL.revokeObjectURL(made);
  }, [svg]);
  return address ? <img class={`paper ${kind}`} src={address} alt={label} /> : <div class="paper" />;
}
