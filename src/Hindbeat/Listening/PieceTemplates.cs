using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>
/// What pieces sound like before a recording has been heard: a few stroke descriptions a piece (from soft and
/// loud strokes, near and far microphones), each with its amplitudes summing to 1.
/// </summary>
/// <remarks>
/// Measured with <see cref="StrokeDescription"/> on the studio and overhead views of L. Muldjord's kit (CC BY 4.0);
/// training/StrokeTemplates makes the resource again.
/// </remarks>
internal sealed class PieceTemplates
{
    private const string Resource = "Hindbeat.Listening.stroke-templates.csv";

    public PieceTemplates(KitPiece[] pieces, float[][] atoms)
    {
        Pieces = pieces;
        Atoms = atoms;
    }

    /// <summary>The piece of each atom.</summary>
    public KitPiece[] Pieces { get; }

    /// <summary>Each of <see cref="StrokeDescription.Size"/> amplitudes.</summary>
    public float[][] Atoms { get; }

    /// <summary>The generic templates that come with the engine.</summary>
    public static PieceTemplates Generic()
    {
        using Stream stream = typeof(PieceTemplates).Assembly.GetManifestResourceStream(Resource)
            ?? throw new InvalidOperationException($"The engine lacks its resource {Resource}.");
        using StreamReader reader = new(stream);
        return Read(reader);
    }

    /// <summary>One atom a line: piece id, where it comes from, then its amplitudes; lines with # are notes.</summary>
    public static PieceTemplates Read(TextReader reader)
    {
        List<KitPiece> pieces = [];
        List<float[]> atoms = [];
        while (reader.ReadLine() is { } line)
        {
            if (line.StartsWith('#'))
                continue;
            string[] fields = line.Split(',');
            pieces.Add(KitPieces.Parse(fields[0]));
            atoms.Add([.. fields.Skip(2).Select(field => float.Parse(field, CultureInfo.InvariantCulture))]);
            if (atoms[^1].Length != StrokeDescription.Size)
                throw new FormatException($"A stroke template of {fields[0]} has {atoms[^1].Length} amplitudes, not {StrokeDescription.Size}.");
        }

        return new PieceTemplates([.. pieces], [.. atoms]);
    }
}
