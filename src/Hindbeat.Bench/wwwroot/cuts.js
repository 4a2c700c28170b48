// Sounds made out of sounds: stretches repeated without a seam, ticks beside a recording.

const seamSeconds = 0.005; // Ends of a loop blend into what comes before its beginning.

/**
 * Stretches of a buffer, one after another, to be repeated as a whole without a seam: the last moments of each blend into what
 * lies before the beginning of the next. map: pairs [second of the cut, second of the buffer].
 */
export function cutOf(buffer, ranges) {
  const rate = buffer.sampleRate;
  const parts = ranges
    .map(([from, to]) => ({ first: Math.round(from * rate), last: Math.min(buffer.length, Math.round(to * rate)) }))
    .filter((part) => part.last - part.first > 0.02 * rate);
  if (parts.length === 0) return null;
  const length = parts.reduce((sum, part) => sum + part.last - part.first, 0);
  const cut = new AudioBuffer({ length, numberOfChannels: buffer.numberOfChannels, sampleRate: rate });
  const map = [];
  let at = 0;
  parts.forEach((part, index) => {
    const next = parts[(index + 1) % parts.length].first;
    const count = part.last - part.first;
    const seam = next === part.last ? 0 : Math.min(Math.round(seamSeconds * rate), next, count >> 2);
    for (let channel = 0; channel < buffer.numberOfChannels; channel++) {
      const all = buffer.getChannelData(channel);
      const out = cut.getChannelData(channel);
      out.set(all.subarray(part.first, part.last), at);
      for (let i = 0; i < seam; i++) {
        const share = (i + 1) / (seam + 1);
        const place = at + count - seam + i;
        out[place] = (1 - share) * out[place] + share * all[next - seam + i];
      }
    }
    // A hair apart, so that the table rises where the cut jumps.
    map.push([at / rate + (index > 0 ? 1e-7 : 0), part.first / rate + (index > 0 ? 1e-7 : 0)], [(at + count) / rate, part.last / rate]);
    at += count;
  });
  return { buffer: cut, map, length: length / rate };
}

/** Ticks as a sound of their own, as long as the recording's, so that both run on one clock. */
export function tickBuffer(moments, like) {
  const { sampleRate, length } = like;
  const buffer = new AudioBuffer({ length, numberOfChannels: 1, sampleRate });
  const out = buffer.getChannelData(0);
  const ring = Math.round(0.012 * sampleRate);
  for (const moment of moments) {
    const first = Math.round(moment * sampleRate);
    for (let i = 0; i < ring && first + i < length; i++)
      if (first + i >= 0) out[first + i] += 0.25 * Math.sin((2 * Math.PI * 2800 * i) / sampleRate) * Math.exp((-5 * i) / ring);
  }
  return buffer;
}
