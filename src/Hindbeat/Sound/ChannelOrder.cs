namespace Hindbeat.Sound;

/// <summary>
/// Opus names surround channels in Vorbis' order; here all sound has the order of WAV
/// (front left, right, centre, low-frequency, back, side). Source: Vorbis I specification, section 4.3.9.
/// </summary>
internal static class ChannelOrder
{
    /// <summary>For each channel in WAV order, where it lies in Vorbis order; null when the orders agree.</summary>
    public static int[]? FromVorbis(int channels) => channels switch
    {
        3 => [0, 2, 1],
        5 => [0, 2, 1, 3, 4],
        6 => [0, 2, 1, 5, 3, 4],
        7 => [0, 2, 1, 6, 5, 3, 4],
        8 => [0, 2, 1, 7, 5, 6, 3, 4],
        _ => null,
    };

    public static void Apply(int[]? order, Span<float> interleaved)
    {
        if (order is null)
            return;
        Span<float> frame = stackalloc float[order.Length];
        for (int at = 0; at + order.Length <= interleaved.Length; at += order.Length)
        {
            interleaved.Slice(at, order.Length).CopyTo(frame);
            for (int channel = 0; channel < order.Length; channel++)
                interleaved[at + channel] = frame[order[channel]];
        }
    }
}
