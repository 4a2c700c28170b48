namespace Hindbeat.Sound;

/// <summary>From a file's channels to the one that is listened to and the two that are played.</summary>
internal static class ChannelMix
{
    /// <summary>−3 dB, the share of centre and surround in a stereo downmix (ITU-R BS.775, annex 4).</summary>
    private const float Minus3Db = 0.70710678f;

    /// <summary>
    /// The plain average of all channels. Drums are loud in few microphones and every microphone hears a
    /// stroke within the travel time of sound; no channel is left out because none is known to be silent.
    /// </summary>
    public static void Average(ReadOnlySpan<float> interleaved, int channels, Span<float> mono)
    {
        if (channels == 1)
        {
            interleaved.CopyTo(mono);
            return;
        }

        int frames = interleaved.Length / channels;
        if (channels == 2)
        {
            // Both lengths cut to what is used, so that no bound is checked within the loop.
            ReadOnlySpan<float> pairs = interleaved[..(2 * frames)];
            Span<float> middle = mono[..frames];
            for (int i = 0; i < middle.Length; i++)
                middle[i] = 0.5f * (pairs[2 * i] + pairs[(2 * i) + 1]);
            return;
        }

        float share = 1f / channels;
        for (int i = 0; i < frames; i++)
        {
            float sum = 0;
            foreach (float sample in interleaved.Slice(i * channels, channels))
                sum += sample;
            mono[i] = sum * share;
        }
    }

    /// <summary>One channel, counted from 0.</summary>
    public static void Pick(ReadOnlySpan<float> interleaved, int channels, int channel, Span<float> mono)
    {
        for (int i = 0, at = channel; at < interleaved.Length; i++, at += channels)
            mono[i] = interleaved[at];
    }

    /// <summary>
    /// Left and right share of each channel in WAV order. Surround by ITU-R BS.775 (centre and surrounds
    /// at −3 dB, low-frequency channel left out), scaled so that full scale on all channels stays within full scale;
    /// channels of no known layout (a multitrack file) go evenly to both sides.
    /// </summary>
    public static (float Left, float Right)[] StereoShares(int channels)
    {
        (float Left, float Right) left = (1, 0);
        (float Left, float Right) right = (0, 1);
        (float Left, float Right) centre = (Minus3Db, Minus3Db);
        (float Left, float Right) none = (0, 0);
        (float Left, float Right) surroundLeft = (Minus3Db, 0);
        (float Left, float Right) surroundRight = (0, Minus3Db);
        (float Left, float Right)[] shares = channels switch
        {
            1 => [(1, 1)],
            2 => [left, right],
            3 => [left, right, centre],
            4 => [left, right, surroundLeft, surroundRight],
            5 => [left, right, centre, surroundLeft, surroundRight],
            6 => [left, right, centre, none, surroundLeft, surroundRight],
            7 => [left, right, centre, none, (0.5f, 0.5f), surroundLeft, surroundRight],
            8 => [left, right, centre, none, surroundLeft, surroundRight, surroundLeft, surroundRight],
            _ => [.. Enumerable.Repeat((1f, 1f), channels)],
        };
        float scale = 1f / shares.Sum(share => share.Left);
        return [.. shares.Select(share => (share.Left * scale, share.Right * scale))];
    }
}
