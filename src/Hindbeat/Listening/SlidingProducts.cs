using System.Numerics;
using System.Runtime.InteropServices;

namespace Hindbeat.Listening;

/// <summary>
/// Sums of products of a short row with samples at neighbouring places: sums[j] += Σ over i of row[i]·samples[j + i]. Four vectors of places are made side by side: a dot
/// product for each place spends more on its ends than on its middle. Allocates nothing.
/// </summary>
internal static class SlidingProducts
{
    /// <summary>Places that are made at a time.</summary>
    public static readonly int Block = 4 * Vector<float>.Count;

    /// <param name="samples">At least as many as there are sums, and the row's length − 1 more.</param>
    /// <param name="sums">What is there is added to; a whole number of blocks.</param>
    public static void Add(ReadOnlySpan<float> samples, ReadOnlySpan<float> row, Span<float> sums)
    {
        int width = Vector<float>.Count;
        for (int at = 0; at < sums.Length; at += Block)
        {
            // As far as is read below.
            ref float here = ref MemoryMarshal.GetReference(samples.Slice(at, row.Length + Block - 1));
            Span<float> to = sums.Slice(at, Block);
            Vector<float> a = new(to), b = new(to[width..]), c = new(to[(2 * width)..]), d = new(to[(3 * width)..]);
            for (int i = 0; i < row.Length; i++)
            {
                Vector<float> value = new(row[i]);
                a = Vector.MultiplyAddEstimate(value, Vector.LoadUnsafe(ref here, (nuint)i), a);
                b = Vector.MultiplyAddEstimate(value, Vector.LoadUnsafe(ref here, (nuint)(i + width)), b);
                c = Vector.MultiplyAddEstimate(value, Vector.LoadUnsafe(ref here, (nuint)(i + (2 * width))), c);
                d = Vector.MultiplyAddEstimate(value, Vector.LoadUnsafe(ref here, (nuint)(i + (3 * width))), d);
            }

            a.CopyTo(to);
            b.CopyTo(to[width..]);
            c.CopyTo(to[(2 * width)..]);
            d.CopyTo(to[(3 * width)..]);
        }
    }
}
