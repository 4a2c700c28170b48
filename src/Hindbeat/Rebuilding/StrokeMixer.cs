using System.Numerics;
using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Sounds a plan block by block at unit gain. Only strokes that sound in a block cost anything; after
/// construction nothing is allocated, however long the plan.
/// </summary>
/// <remarks>
/// A stroke starts between samples: its sample is read through 32 taps of a windowed sinc, so that its
/// measured onset falls on the planned moment. Strokes are mixed in order of their start; equal plans
/// give equal bytes on one machine.
/// </remarks>
internal sealed class StrokeMixer
{
    /// <summary>Small enough for the processor's first cache, long enough that per-block work vanishes.</summary>
    public const int BlockFrames = 512;

    /// <summary>A closing hat damps the open one within about this long (our choice, no source).</summary>
    public const double ChokeSeconds = 0.030;

    private readonly Voice[] _voices;
    private readonly float[][] _taps;
    private readonly Stack<int> _freeTaps = new();
    private readonly int[] _active;
    private readonly int[] _tapsOfActive;
    private readonly float[] _scratch = new float[BlockFrames];
    private readonly int _chokeFrames;
    private int _activeCount;
    private int _next;
    private long _position;

    public StrokeMixer(IReadOnlyList<PlannedStroke> plan, Kit kit, int sampleRate, RenderOptions options)
    {
        Kit atRate = kit.AtRate(sampleRate);
        double firstStroke = plan.Select(stroke => stroke.Time).Concat(options.Clicks.Select(click => click.Time)).Min().TotalSeconds;
        double from = options.From?.TotalSeconds ?? Math.Min(0, firstStroke);
        _chokeFrames = (int)Math.Round(ChokeSeconds * sampleRate);
        _voices = Prepare(plan, atRate, sampleRate, from, options);
        long end = options.To is { } to
            ? (long)Math.Round((to.TotalSeconds - from) * sampleRate)
            : _voices.Max(voice => voice.End(_chokeFrames));
        TotalFrames = Math.Max(0, end);
        int most = MostAtOnce(_voices, _chokeFrames);
        _active = new int[most];
        _tapsOfActive = new int[most];
        _taps = [.. Enumerable.Range(0, most).Select(_ => new float[WindowedSinc.Taps])];
        Rewind();
    }

    public long TotalFrames { get; }

    /// <summary>Back to the start; the same frames come again.</summary>
    public void Rewind()
    {
        (_position, _next, _activeCount) = (0, 0, 0);
        _freeTaps.Clear();
        for (int i = 0; i < _taps.Length; i++)
            _freeTaps.Push(i);
    }

    /// <summary>Fills the next frames, at most <see cref="BlockFrames"/>; returns how many, 0 at the end.</summary>
    public int Mix(Span<float> left, Span<float> right)
    {
        int frames = (int)Math.Min(Math.Min(left.Length, BlockFrames), TotalFrames - _position);
        left = left[..frames];
        right = right[..frames];
        left.Clear();
        right.Clear();
        StartVoices(frames);
        for (int i = 0; i < _activeCount; i++)
        {
            ref readonly Voice voice = ref _voices[_active[i]];
            int from = (int)Math.Max(0, voice.First - _position);
            int to = (int)Math.Min(frames, voice.End(_chokeFrames) - _position);
            if (to > from)
            {
                Span<float> sound = _scratch.AsSpan(0, to - from);
                Read(voice, voice.Sample.Padded, _taps[_tapsOfActive[i]], _position + from, sound);
                Choke(voice, _position + from, sound);
                TensorPrimitives.MultiplyAdd(sound, voice.Left, left[from..to], left[from..to]);
                if (voice.Sample.IsStereo)
                {
                    Read(voice, voice.Sample.PaddedRight, _taps[_tapsOfActive[i]], _position + from, sound);
                    Choke(voice, _position + from, sound);
                }

                TensorPrimitives.MultiplyAdd(sound, voice.Right, right[from..to], right[from..to]);
            }

            if (voice.End(_chokeFrames) <= _position + frames)
                Stop(i--);
        }

        _position += frames;
        return frames;
    }

    private void StartVoices(int frames)
    {
        while (_next < _voices.Length && _voices[_next].First < _position + frames)
        {
            if (_voices[_next].End(_chokeFrames) > _position)
            {
                int taps = _freeTaps.Pop();
                WindowedSinc.ReadAfter(_voices[_next].ReadFraction, _taps[taps]);
                (_active[_activeCount], _tapsOfActive[_activeCount]) = (_next, taps);
                _activeCount++;
            }

            _next++;
        }
    }

    /// <summary>Keeps the others in order, so that sums do not depend on the block length.</summary>
    private void Stop(int index)
    {
        _freeTaps.Push(_tapsOfActive[index]);
        _activeCount--;
        Array.Copy(_active, index + 1, _active, index, _activeCount - index);
        Array.Copy(_tapsOfActive, index + 1, _tapsOfActive, index, _activeCount - index);
    }

    /// <summary>
    /// sound[i] = Σ h[k]·x(n + i + k): every output vector is kept in a register over all taps, six times
    /// as fast as one pass over the block a tap.
    /// </summary>
    private static void Read(in Voice voice, ReadOnlySpan<float> padded, float[] taps, long frame, Span<float> sound)
    {
        int first = KitSample.Margin + (int)(frame - voice.Base) - WindowedSinc.Before;
        ReadOnlySpan<float> source = padded.Slice(first, sound.Length + WindowedSinc.Taps - 1);
        int width = Vector<float>.Count;
        int i = 0;
        for (; i <= sound.Length - width; i += width)
        {
            Vector<float> sum = Vector<float>.Zero;
            for (int k = 0; k < WindowedSinc.Taps; k++)
                sum += new Vector<float>(source.Slice(i + k, width)) * taps[k];
            sum.CopyTo(sound[i..]);
        }

        for (; i < sound.Length; i++)
        {
            // The same order of additions as above, so that a frame's value does not depend on where blocks end.
            float sum = 0;
            for (int k = 0; k < WindowedSinc.Taps; k++)
                sum += source[i + k] * taps[k];
            sound[i] = sum;
        }
    }

    private void Choke(in Voice voice, long frame, Span<float> sound)
    {
        if (voice.ChokeAt is not { } choke || frame + sound.Length <= choke)
            return;
        for (int i = (int)Math.Max(0, choke - frame); i < sound.Length; i++)
            sound[i] *= (float)(0.5 + (0.5 * Math.Cos(Math.PI * (frame + i - choke) / _chokeFrames)));
    }

    private static Voice[] Prepare(IReadOnlyList<PlannedStroke> plan, Kit kit, int sampleRate, double from, RenderOptions options)
    {
        var chooser = new StrokeChooser(kit, options.Seed);
        var voices = new Voice[plan.Count + options.Clicks.Count];
        int[] next = NextOfPiece(plan, kit);
        for (int i = 0; i < plan.Count; i++)
        {
            PlannedStroke stroke = plan[i];
            KitStroke sound = chooser.Choose(i, stroke.Piece, stroke.Velocity, next[i]);
            double start = ((stroke.Time.TotalSeconds - from) * sampleRate) - sound.Sample.Onset;
            (float left, float right) = Stage.GainsOf(sound.Sample, stroke.Piece);
            voices[i] = new Voice(sound.Sample, start, left * sound.Gain, right * sound.Gain);
        }

        var clicks = new Dictionary<ClickKind, KitSample>();
        for (int i = 0; i < options.Clicks.Count; i++)
        {
            PlannedClick click = options.Clicks[i];
            if (!clicks.TryGetValue(click.Kind, out KitSample? sample))
                clicks[click.Kind] = sample = ClickSounds.Make(click.Kind, sampleRate);
            (float left, float right) = Stage.GainsAt(click.Place);
            float gain = (float)Math.Pow(10, click.GainDb / 20);
            voices[plan.Count + i] = new Voice(sample, ((click.Time.TotalSeconds - from) * sampleRate) - sample.Onset, left * gain, right * gain);
        }

        SetChokes(plan, voices, sampleRate, from);
        Array.Sort(voices, (a, b) => a.First.CompareTo(b.First) is var byStart and not 0 ? byStart : a.Sample.Piece.CompareTo(b.Sample.Piece));
        return voices;
    }

    /// <summary>Number of each stroke's next one on the same piece of the kit (which may stand in for two), −1 after the last.</summary>
    private static int[] NextOfPiece(IReadOnlyList<PlannedStroke> plan, Kit kit)
    {
        var next = new int[plan.Count];
        var later = new Dictionary<KitPiece, int>();
        for (int i = plan.Count - 1; i >= 0; i--)
        {
            KitPiece sounding = kit.StrokesOf(plan[i].Piece)[0].Piece;
            next[i] = later.GetValueOrDefault(sounding, -1);
            later[sounding] = i;
        }

        return next;
    }

    private static void SetChokes(IReadOnlyList<PlannedStroke> plan, Voice[] voices, int sampleRate, double from)
    {
        AudioTime?[] chokes = HatChokes.Of(plan);
        for (int i = 0; i < plan.Count; i++)
        {
            if (chokes[i] is { } choke)
                voices[i] = voices[i] with { ChokeAt = (long)Math.Round((choke.TotalSeconds - from) * sampleRate) };
        }
    }

    private static int MostAtOnce(Voice[] byStart, int chokeFrames)
    {
        // A voice is held for whole blocks, so count it from its block's start to its last block's end.
        var ends = new PriorityQueue<int, long>();
        int most = 0;
        for (int i = 0; i < byStart.Length; i++)
        {
            while (ends.TryPeek(out _, out long end) && end <= byStart[i].First - BlockFrames)
                ends.Dequeue();
            ends.Enqueue(i, byStart[i].End(chokeFrames));
            most = Math.Max(most, ends.Count);
        }

        return most;
    }

    /// <summary>One sounding stroke; places are frames of the output.</summary>
    private readonly record struct Voice
    {
        private readonly int _length;

        public Voice(KitSample sample, double start, float left, float right)
        {
            Sample = sample;
            Left = left;
            Right = right;
            // Output frame n reads the sample at n − start = (n − Base) + ReadFraction.
            Base = (long)Math.Ceiling(start);
            ReadFraction = Base - start;
            _length = sample.Samples.Length;
            ChokeAt = null;
        }

        public KitSample Sample { get; }
        public long Base { get; }
        public double ReadFraction { get; }
        public float Left { get; }
        public float Right { get; }
        public long? ChokeAt { get; init; }

        /// <summary>The interpolation rings half its taps before and after the sample itself.</summary>
        public long First => Base - (WindowedSinc.Taps / 2);

        public long End(int chokeFrames) => ChokeAt is { } choke
            ? Math.Max(First, Math.Min(choke + chokeFrames, Base + _length + (WindowedSinc.Taps / 2)))
            : Base + _length + (WindowedSinc.Taps / 2);
    }
}
