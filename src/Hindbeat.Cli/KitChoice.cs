using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>The kit that a person names: the house's, the recording's own, a folder or a SoundFont.</summary>
internal static class KitChoice
{
    public const string House = "house";
    public const string Own = "own";

    /// <exception cref="InputException">There is no such kit.</exception>
    public static Kit Find(string wanted, FoundStudy study, string? recording, TextWriter messages)
    {
        if (wanted == House)
            return HouseKit.Load();
        if (wanted == Own)
            return CutOwn(study, recording, messages);
        if (Directory.Exists(wanted))
            return FolderKit.Read(wanted);
        return File.Exists(wanted)
            ? SoundFontKit.Read(wanted)
            : throw new InputException($"There is no kit '{wanted}'; name '{House}', '{Own}', a folder of sound files or a SoundFont (.sf2).");
    }

    /// <summary>The passage's sound, from a little before its beginning to a little after its end.</summary>
    /// <exception cref="InputException">The study knows no recording, or it is gone.</exception>
    public static StereoSound Passage(FoundStudy study, string? recording)
    {
        string path = recording ?? study.Source
            ?? throw new InputException($"The study '{study.Name}' does not say where its recording lies; name it with --recording FILE.");
        if (!File.Exists(path))
            throw new InputException(recording is null ? $"The recording {path} is not there any more; name it with --recording FILE." : $"There is no recording {path}; --recording names the file that was studied.");
        return SoundLoader.LoadStereo(path, study.From, study.To);
    }

    private static Kit CutOwn(FoundStudy study, string? recording, TextWriter messages)
    {
        (Kit kit, IReadOnlyList<PieceCut> pieces) = OwnKit.Cut(Passage(study, recording), study.From, study.Performance, HouseKit.Load());
        foreach (PieceCut piece in pieces)
        {
            messages.WriteLine(piece.StandIn
                ? $"{piece.Piece.Name()}: none of {piece.Played} strokes stands free enough; the house kit plays it."
                : string.Create(CultureInfo.InvariantCulture, $"{piece.Piece.Name()}: {piece.Kept} of {piece.Played} strokes cut, {piece.Alone} of them alone."));
        }

        return kit;
    }
}
