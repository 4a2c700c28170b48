using System.Text.RegularExpressions;

namespace Hindbeat.Tests;

/// <summary>Nothing in the engine points back up the list of layers.</summary>
public partial class LayerTests
{
    /// <summary>From the ground up; a layer may use those before it.</summary>
    private static readonly string[] Layers =
        ["Units", "Performances", "Sound", "Listening", "Pulses", "Feel", "Charting", "Rebuilding", "Takes", "Handouts", "Studies"];

    public static TheoryData<string> AllLayers => [.. Layers];

    [Theory]
    [MemberData(nameof(AllLayers))]
    public void A_layer_uses_only_those_below_it(string layer)
    {
        string folder = Path.Combine(RepositoryRoot(), "src", "Hindbeat", layer);
        if (!Directory.Exists(folder))
            return;
        string[] above = Layers[(Array.IndexOf(Layers, layer) + 1)..];
        foreach (string file in Directory.EnumerateFiles(folder, "*.cs", SearchOption.AllDirectories))
        {
            foreach (Match mention in MentionOfALayer().Matches(File.ReadAllText(file)))
                Assert.False(above.Contains(mention.Groups[1].Value), $"{layer}/{Path.GetFileName(file)} uses {mention.Value}, which lies above it.");
        }
    }

    [Theory]
    [MemberData(nameof(AllLayers))]
    public void Types_live_in_the_namespace_of_their_layer(string layer)
    {
        string folder = Path.Combine(RepositoryRoot(), "src", "Hindbeat", layer);
        if (!Directory.Exists(folder))
            return;
        foreach (string file in Directory.EnumerateFiles(folder, "*.cs", SearchOption.AllDirectories))
            Assert.Contains($"namespace Hindbeat.{layer}", File.ReadAllText(file), StringComparison.Ordinal);
    }

    [Fact]
    public void The_engine_knows_neither_web_nor_console()
    {
        foreach (string file in Directory.EnumerateFiles(Path.Combine(RepositoryRoot(), "src", "Hindbeat"), "*.cs", SearchOption.AllDirectories))
        {
            if (file.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}", StringComparison.Ordinal))
                continue;
            string text = File.ReadAllText(file);
            foreach (string forbidden in new[] { "Microsoft.AspNetCore", "Console.", "DateTime.Now", "DateTime.UtcNow", "DateTimeOffset.Now", "DateTimeOffset.UtcNow", "Random.Shared" })
                Assert.False(text.Contains(forbidden, StringComparison.Ordinal), $"{Path.GetFileName(file)} uses {forbidden}.");
        }
    }

    internal static string RepositoryRoot()
    {
        for (DirectoryInfo? folder = new(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "Hindbeat.slnx")))
                return folder.FullName;
        }

        throw new InvalidOperationException("The tests run outside the repository.");
    }

    [GeneratedRegex(@"\bHindbeat\.(Units|Performances|Sound|Listening|Pulses|Feel|Charting|Rebuilding|Takes|Handouts|Studies)\b")]
    private static partial Regex MentionOfALayer();
}
