using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>The network's three curves over a passage, a row of <see cref="ListenerModel.Channels"/> values every 10 ms.</summary>
internal sealed class ListenerCurves
{
    /// <summary>Columns the network sees at once (6 s); it was trained on 500 and hears the same with 1,200.</summary>
    public const int Window = 600;

    /// <summary>Columns at a window's inner edges whose values are left to its neighbour: the network's convolutions reach 35 columns to either side.</summary>
    private const int Edge = 40;

    private readonly float[] _onset;
    private readonly float[] _velocity;
    private readonly float[] _offset;

    private ListenerCurves(int columns, long from)
    {
        Columns = columns;
        From = from;
        _onset = new float[columns * ListenerModel.Channels];
        _velocity = new float[columns * ListenerModel.Channels];
        _offset = new float[columns * ListenerModel.Channels];
    }

    public int Columns { get; }

    /// <summary>Sample of the recording that column 0 is centred on.</summary>
    public long From { get; }

    /// <summary>Probability of a stroke in a column, 0 to 1.</summary>
    public float Onset(int column, int channel) => _onset[(column * ListenerModel.Channels) + channel];

    /// <summary>Strength of a stroke there, 0 to 1; says nothing where there is none.</summary>
    public float Velocity(int column, int channel) => _velocity[(column * ListenerModel.Channels) + channel];

    /// <summary>Columns from a column to where the network places a stroke heard in it.</summary>
    public float Offset(int column, int channel) => _offset[(column * ListenerModel.Channels) + channel];

    /// <summary>Sample of the recording at which the network places a stroke heard in a column.</summary>
    public double Sample(int column, int channel) =>
        From + ((column + _offset[(column * ListenerModel.Channels) + channel]) * ListenerPictures.Hop);

    /// <summary>Columns that are known for good before the end of a window that is not the last.</summary>
    private const int Unsettled = Edge + MomentViews.CurveReach;

    /// <param name="from">First sample; <paramref name="to"/> is one past the last.</param>
    /// <returns>The curves, and what is seen at every moment on them.</returns>
    public static (ListenerCurves Curves, MomentViews Views) Of(ListenerModel model, MonoSound sound, long from, long to, IProgress<double>? progress, CancellationToken cancel)
    {
        ListenerPictures pictures = new(sound, from, to);
        ListenerCurves curves = new(pictures.Columns, from);
        MomentViews views = new(model.Comparer, curves, sound, pictures.Gain);
        int window = Math.Min(Window, curves.Columns);
        int part = window * MelPicture.Bands;
        float[] input = new float[2 * part];
        float[][] output = [.. Enumerable.Range(0, 3).Select(_ => new float[window * ListenerModel.Channels])];
        float[] hidden = new float[window * ListenerModel.Hidden];
        int have = 0;
        for (int end = window, begin = 0; curves.Columns > 0;)
        {
            cancel.ThrowIfCancellationRequested();

            // Columns that the window before has already seen move to the front.
            int kept = Math.Max(0, have - begin);
            foreach (int at in (ReadOnlySpan<int>)[0, part])
                Array.Copy(input, at + ((window - kept) * MelPicture.Bands), input, at, kept * MelPicture.Bands);
            int known = kept * MelPicture.Bands;
            pictures.Fill(begin + kept, window - kept, input.AsSpan(known, part - known), input.AsSpan(part + known, part - known));
            have = end;
            model.Run(input, window, output[0], output[1], output[2], hidden);
            int skip = begin == 0 ? 0 : Edge;
            Copy(output[0], curves._onset, skip, begin, window);
            Copy(output[1], curves._velocity, skip, begin, window);
            Copy(output[2], curves._offset, skip, begin, window);
            views.Take(begin, window, end == curves.Columns ? end : end - Unsettled, input, hidden);
            progress?.Report((double)end / curves.Columns);
            if (end == curves.Columns)
                break;
            end = Math.Min(end - (2 * Edge) + window, curves.Columns);
            begin = end - window;
        }

        return (curves, views);
    }

    private static void Copy(float[] output, float[] curve, int skip, int begin, int window) =>
        Array.Copy(output, skip * ListenerModel.Channels, curve, (begin + skip) * ListenerModel.Channels, (window - skip) * ListenerModel.Channels);
}
