using System.Runtime.InteropServices;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;
using NAudio.SoundFont;

namespace Hindbeat.Rebuilding;

/// <summary>
/// A kit from a SoundFont 2 file: the first preset of its percussion bank (128), a stroke for each General
/// MIDI key of our pieces and each velocity range.
/// </summary>
/// <remarks>
/// From SoundFont Technical Specification 2.04 (E-mu, 2006) these generators are followed: key and velocity
/// range, root key and tuning, attenuation, pan. Envelopes, filters and loops are not: a drum's sample holds
/// its own end.
/// </remarks>
public static class SoundFontKit
{
    private const int PercussionBank = 128;

    /// <summary>Keys that drum kits also use for a piece, in order of preference (General MIDI Level 1 percussion map).</summary>
    private static readonly Dictionary<KitPiece, int[]> MoreKeys = new()
    {
        [KitPiece.Kick] = [35],
        [KitPiece.Snare] = [40],
        [KitPiece.Ride] = [59],
        [KitPiece.Crash] = [57],
        [KitPiece.TomHigh] = [50],
        [KitPiece.TomMid] = [47],
        [KitPiece.TomLow] = [41],
    };

    /// <exception cref="InputException">Not a SoundFont, or one without a drum kit.</exception>
    public static Kit Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        SoundFont font = Open(path, name);
        Preset preset = font.Presets?.Where(each => each.Bank == PercussionBank).OrderBy(each => each.PatchNumber).FirstOrDefault()
            ?? throw new InputException($"{name} has no percussion bank, so there is no drum kit in it.");
        var samples = new List<KitSample>();
        foreach (KitPiece piece in KitPieces.All.Where(piece => piece != KitPiece.Other))
        {
            int[] keys = [piece.GeneralMidiKey(), .. MoreKeys.GetValueOrDefault(piece, [])];
            samples.AddRange(keys.Select(key => Strokes(font, preset, piece, key)).FirstOrDefault(found => found.Count > 0) ?? []);
        }

        if (samples.Count == 0)
            throw new InputException($"The drum kit of {name} has no sound on any key of a drum set.");
        int rate = samples.Max(sample => sample.SampleRate);
        return new Kit($"{preset.Name?.Trim()} ({name})", string.Empty, rate, samples.Select(sample => sample.AtRate(rate)));
    }

    private static SoundFont Open(string path, string name)
    {
        try
        {
            using FileStream stream = File.OpenRead(path);
            return new SoundFont(stream);
        }
        catch (Exception reason) when (reason is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new InputException($"There is no SoundFont {path}.", reason);
        }
        catch (Exception reason) when (reason is not (OutOfMemoryException or InputException))
        {
            throw new InputException($"{name} is not a SoundFont 2 file, or is damaged ({reason.Message.ReplaceLineEndings(" ")}).", reason);
        }
    }

    private static List<KitSample> Strokes(SoundFont font, Preset preset, KitPiece piece, int key)
    {
        var parts = new List<Part>();
        foreach (Zone outer in preset.Zones ?? [])
        {
            if (!HoldsKey(outer, key) || InstrumentOf(outer) is not { } instrument)
                continue;
            Zone[] zones = instrument.Zones ?? [];
            Zone? common = zones.FirstOrDefault(zone => SampleOf(zone) is null);
            foreach (Zone zone in zones)
            {
                if (SampleOf(zone) is { } header && HoldsKey(zone, key))
                    parts.Add(new Part(header, [zone, .. common is null ? Array.Empty<Zone>() : [common]], outer, HighestVelocity(zone)));
            }
        }

        // One velocity range is one layer; two parts of it are the two sides of a stereo stroke.
        var layers = parts.GroupBy(part => part.Velocity).OrderBy(group => group.Key).ToList();
        return [.. layers.Select((layer, i) => Combine(font, piece, i + 1, [.. layer], key)).OfType<KitSample>()];
    }

    private static KitSample? Combine(SoundFont font, KitPiece piece, int layer, Part[] parts, int key)
    {
        StereoSound[] sides = [.. parts.Select(part => Render(font, part, key))];
        int rate = sides.Max(side => side.SampleRate);
        int length = sides.Max(side => (int)((long)side.Left.Length * rate / side.SampleRate));
        var left = new float[length];
        var right = new float[length];
        foreach (StereoSound side in sides)
        {
            float[] l = Resampler.Resample(side.Left, side.SampleRate, rate);
            float[] r = Resampler.Resample(side.Right, side.SampleRate, rate);
            for (int i = 0; i < Math.Min(length, l.Length); i++)
            {
                left[i] += l[i];
                right[i] += r[i];
            }
        }

        bool isSilent = !left.AsSpan().ContainsAnyExcept(0f) && !right.AsSpan().ContainsAnyExcept(0f);
        return length == 0 || isSilent ? null : FolderKit.MakeSample(piece, layer, new StereoSound(left, right, rate));
    }

    private static StereoSound Render(SoundFont font, Part part, int key)
    {
        ReadOnlySpan<short> all = MemoryMarshal.Cast<byte, short>(font.SampleData);
        int from = (int)Math.Min(part.Header.Start, (uint)all.Length);
        int to = (int)Math.Clamp(part.Header.End, (uint)from, (uint)all.Length);
        short root = part.Value(GeneratorEnum.OverridingRootKey) is >= 0 and short set ? set : (short)part.Header.OriginalPitch;
        double cents = ((key - root) * (part.Value(GeneratorEnum.ScaleTuning) ?? 100)) + (100 * (part.Value(GeneratorEnum.CoarseTune) ?? 0)) + (part.Value(GeneratorEnum.FineTune) ?? 0) + part.Header.PitchCorrection;
        double decibels = -0.1 * (part.Value(GeneratorEnum.InitialAttenuation) ?? 0);
        // Pan is given in tenths of a per cent: −500 hard left, 500 hard right.
        double angle = (Math.Clamp((part.Value(GeneratorEnum.Pan) ?? 0) / 500.0, -1, 1) + 1) * Math.PI / 4;
        double gain = Math.Pow(10, decibels / 20) / 32768;
        var left = new float[to - from];
        var right = new float[to - from];
        for (int i = from; i < to; i++)
        {
            left[i - from] = (float)(all[i] * gain * Math.Cos(angle));
            right[i - from] = (float)(all[i] * gain * Math.Sin(angle));
        }

        // Higher pitch is the same samples at a higher rate.
        int rate = (int)Math.Round(part.Header.SampleRate * Math.Pow(2, cents / 1200));
        return new StereoSound(left, right, Math.Clamp(rate, 8000, 192000));
    }

    private static int HighestVelocity(Zone zone) => Find(zone, GeneratorEnum.VelocityRange)?.HighByteAmount ?? 127;

    /// <summary>A zone without a key range holds all keys.</summary>
    private static bool HoldsKey(Zone zone, int key) =>
        Find(zone, GeneratorEnum.KeyRange) is not { } range || (key >= range.LowByteAmount && key <= range.HighByteAmount);

    private static Instrument? InstrumentOf(Zone zone) => Find(zone, GeneratorEnum.Instrument)?.Instrument;

    private static SampleHeader? SampleOf(Zone zone) => Find(zone, GeneratorEnum.SampleID)?.SampleHeader;

    private static Generator? Find(Zone zone, GeneratorEnum kind) => zone.Generators?.FirstOrDefault(generator => generator.GeneratorType == kind);

    /// <param name="Inner">The sample's zone, then the instrument's common one.</param>
    private sealed record Part(SampleHeader Header, Zone[] Inner, Zone Outer, int Velocity)
    {
        /// <summary>The instrument's value; what the preset says comes on top of it.</summary>
        public short? Value(GeneratorEnum kind)
        {
            short? inner = Inner.Select(zone => Find(zone, kind)?.Int16Amount).FirstOrDefault(value => value is not null);
            short? outer = kind is GeneratorEnum.OverridingRootKey ? null : Find(Outer, kind)?.Int16Amount;
            return inner is null ? outer : (short)(inner + (outer ?? 0));
        }
    }
}
