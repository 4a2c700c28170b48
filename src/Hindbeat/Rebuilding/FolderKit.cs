using System.Globalization;
using System.Text.RegularExpressions;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// A kit from a folder of sound files, a stroke a file, named by piece, layer and alternate:
/// <c>snare.wav</c>, <c>snare-3.wav</c> (third loudness from soft), <c>snare-3b.wav</c> (another of the same).
/// Piece ids are those of <see cref="KitPieces"/>. Files keep their levels; each one's onset is measured.
/// </summary>
public static partial class FolderKit
{
    private static readonly string[] SoundEndings = [".wav", ".aif", ".aiff", ".flac", ".ogg", ".opus", ".mp3", ".m4a"];

    /// <summary>Longer than the longest cymbal; what is longer is a recording, not a stroke.</summary>
    private static readonly Seconds LongestStroke = Seconds.Of(20);

    /// <exception cref="InputException">No such folder, no sound in it, or a file whose name or sound is of no use.</exception>
    public static Kit Read(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        if (!Directory.Exists(folder))
            throw new InputException($"There is no folder {folder} to read a kit from.");
        string[] files = [.. Directory.GetFiles(folder).Where(file => SoundEndings.Contains(Path.GetExtension(file).ToLowerInvariant())).Order(StringComparer.Ordinal)];
        if (files.Length == 0)
            throw new InputException($"There are no sound files in {folder}; a kit is a folder of files like kick.wav, snare-1.wav, snare-2b.wav.");
        (KitPiece Piece, int Layer, StereoSound Sound)[] strokes = [.. files.Select(ReadStroke)];
        int rate = strokes.Max(stroke => stroke.Sound.SampleRate);
        return new Kit(Path.GetFileName(Path.TrimEndingDirectorySeparator(Path.GetFullPath(folder))), string.Empty, rate,
            strokes.Select(stroke => MakeSample(stroke.Piece, stroke.Layer, stroke.Sound).AtRate(rate)));
    }

    /// <summary>A stereo stroke whose onset is the earlier one of its channels; equal channels are mono.</summary>
    internal static KitSample MakeSample(KitPiece piece, int layer, StereoSound sound)
    {
        float[] larger = [.. sound.Left.Zip(sound.Right, (l, r) => Math.Max(Math.Abs(l), Math.Abs(r)))];
        bool isMono = sound.Left.AsSpan().SequenceEqual(sound.Right);
        return new KitSample(piece, layer, sound.Left, isMono ? default : sound.Right, sound.SampleRate, StrokeOnset.Find(larger));
    }

    private static (KitPiece Piece, int Layer, StereoSound Sound) ReadStroke(string file)
    {
        string name = Path.GetFileName(file);
        Match parts = StrokeName().Match(Path.GetFileNameWithoutExtension(file));
        if (!parts.Success || !KitPieces.TryParse(parts.Groups["piece"].Value, out KitPiece piece))
            throw new InputException($"{name} names no piece of a kit; name the files like snare.wav, snare-2.wav or snare-2b.wav, the pieces {string.Join(", ", KitPieces.All.Select(each => each.Id()))}.");
        int layer = parts.Groups["layer"].Success ? int.Parse(parts.Groups["layer"].Value, CultureInfo.InvariantCulture) : 1;
        StereoSound sound = SoundLoader.LoadStereo(file);
        if (sound.Duration > LongestStroke)
            throw new InputException(FormattableString.Invariant($"{name} is {sound.Duration.Value:0} s long; a stroke of a kit has at most {LongestStroke.Value:0} s. Is it a whole recording?"));
        if (!sound.Left.AsSpan().ContainsAnyExcept(0f) && !sound.Right.AsSpan().ContainsAnyExcept(0f))
            throw new InputException($"{name} is silent; a kit needs the sound of a stroke.");
        return (piece, layer, sound);
    }

    [GeneratedRegex("^(?<piece>[a-z]+(-[a-z]+)*?)(-(?<layer>[0-9]{1,3})[a-z]?)?$")]
    private static partial Regex StrokeName();
}
